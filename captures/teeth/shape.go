package teeth

import (
	"math"
	"math/cmplx"
)

// shape sums up what the wave looks like between teeth.
type shape struct {
	first  float64       // power of the fundamental of the pitch
	third  float64       // of its third harmonic
	halves [2]half       // the time below and above the middle level
	wave   [3]complex128 // sums of the first harmonics, beginning at the falls
	n      float64
	skip   int
}

const shapeCells = 24

// circle has the first harmonics amid each cell.
var circle = newCircle()

func newCircle() (all [shapeCells][3]complex128) {
	for i := range all {
		for k := range all[i] {
			all[i][k] = cmplx.Rect(1, float64(k+1)*2*math.Pi*(float64(i)+0.5)/shapeCells)
		}
	}
	return all
}

// add looks at the first intervals, and then at one in every sixteen.
func (s *shape) add(w *window, from, to float64) {
	const first, often = 16, 16
	if s.skip++; s.skip > first && s.skip%often != 1 || !w.holds(from, to) || to-from < 8 {
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
	for i, v := range cells {
		for k, c := range circle[i] {
			harmonics[k] += complex(v*real(c), v*imag(c))
		}
		s.halves[side(v, low, high)].add(isAtEnd(v, low, high))
	}
	for k, h := range harmonics {
		s.wave[k] += h
	}
	s.first += square(harmonics[0])
	s.third += square(harmonics[2])
	s.n++
}

// half is the time that a wave is in one half of its range.
type half struct {
	n     float64 // cells
	atEnd float64 // of them at the end
}

func (h *half) add(atEnd bool) {
	if h.n++; atEnd {
		h.atEnd++
	}
}

func side(v, low, high float64) int {
	if v > (low+high)/2 {
		return 1
	}
	return 0
}

// isAtEnd tells that a level is at one of the two ends of a range.
func isAtEnd(v, low, high float64) bool {
	const near = 0.1 // of the range
	return v > high-near*(high-low) || v < low+near*(high-low)
}

// thirdRatio is the third harmonic over the fundamental.
func (s *shape) thirdRatio() float64 { return math.Sqrt(s.third / s.first) }
func (s *shape) endShare() float64 {
	return (s.halves[0].atEnd + s.halves[1].atEnd) / (s.halves[0].n + s.halves[1].n)
}

// heldShare is the part at the end of the half that is there less. A wave of two
// levels holds both of them; one that rests at one level passes its other end as a
// round top does, which is there for 0.29 of its time, and 0.43 of that in its half.
func (s *shape) heldShare() float64 {
	return min(s.halves[0].atEnd/s.halves[0].n, s.halves[1].atEnd/s.halves[1].n)
}

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
