package teeth

import "math"

// shape sums up what the wave looks like between teeth.
type shape struct {
	first  float64 // power of the fundamental of the pitch
	third  float64 // of its third harmonic
	atEnds float64 // part of the time at the two end levels
	n      float64
	skip   int
}

const shapeCells = 24

// add looks at one interval in every sixteen.
func (s *shape) add(w *window, from, to float64) {
	if s.skip++; s.skip%16 != 1 || !w.holds(from, to) || to-from < 8 {
		return
	}
	var cells [shapeCells]float64
	size := (to - from) / shapeCells
	before := w.area(from)
	low, high := math.Inf(1), math.Inf(-1)
	for i := range cells {
		area := w.area(from + float64(i+1)*size)
		cells[i] = (area - before) / size
		before = area
		low, high = min(low, cells[i]), max(high, cells[i])
	}
	var re1, im1, re3, im3 float64
	ends := 0
	for i, v := range cells {
		a := 2 * math.Pi * (float64(i) + 0.5) / shapeCells
		re1 += v * math.Cos(a)
		im1 += v * math.Sin(a)
		re3 += v * math.Cos(3*a)
		im3 += v * math.Sin(3*a)
		if v > high-0.1*(high-low) || v < low+0.1*(high-low) {
			ends++
		}
	}
	s.first += re1*re1 + im1*im1
	s.third += re3*re3 + im3*im3
	s.atEnds += float64(ends) / shapeCells
	s.n++
}

// thirdRatio is the third harmonic over the fundamental.
func (s *shape) thirdRatio() float64 { return math.Sqrt(s.third / s.first) }
func (s *shape) endShare() float64   { return s.atEnds / s.n }
