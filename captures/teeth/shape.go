package teeth

import "math"

// shape sums up what the wave looks like between teeth.
type shape struct {
	first  float64       // power of the fundamental of the pitch
	third  float64       // of its third harmonic
	atEnds float64       // part of the time at the two end levels
	wave   [3]complex128 // sums of the first harmonics, beginning at the falls
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
	var harmonics [3]complex128
	ends := 0
	for i, v := range cells {
		a := 2 * math.Pi * (float64(i) + 0.5) / shapeCells
		for k := range harmonics {
			sin, cos := math.Sincos(float64(k+1) * a)
			harmonics[k] += complex(v*cos, v*sin)
		}
		if v > high-0.1*(high-low) || v < low+0.1*(high-low) {
			ends++
		}
	}
	for k, h := range harmonics {
		s.wave[k] += h
	}
	s.first += square(harmonics[0])
	s.third += square(harmonics[2])
	s.atEnds += float64(ends) / shapeCells
	s.n++
}

// thirdRatio is the third harmonic over the fundamental.
func (s *shape) thirdRatio() float64 { return math.Sqrt(s.third / s.first) }
func (s *shape) endShare() float64   { return s.atEnds / s.n }

// sineMost is the most of a second or a third harmonic that a pure sine may have in
// noise, as a share of the fundamental. A wheel's flux stands in teeth and spaces,
// which leaves one of them several times that.
const sineMost = 0.015

// isSine tells that the mean wave has no harmonics.
func (s *shape) isSine() bool {
	most := sineMost * sineMost * square(s.wave[0])
	return square(s.wave[1]) < most && square(s.wave[2]) < most
}

func square(c complex128) float64 { return real(c)*real(c) + imag(c)*imag(c) }
