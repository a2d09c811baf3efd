package spikes

import (
	"math"
	"testing"
)

// TestSmoothCourse: of a wave that is a polynomial of fifth order nothing is left, and a
// narrow spark is left nearly whole.
func TestSmoothCourse(t *testing.T) {
	var s Finder
	wave := make([]float64, 400)
	for i := range wave {
		x := float64(i-200) / 200
		wave[i] = 3 + x*(2+x*(1+x*(4+x*(5-7*x))))
	}
	course := newSmoothCourse(30)
	at, end := 100, 300
	s.sum(wave)
	if e := course.leaves(wave[at:end], s.sums, at); math.Max(float64(e.up), float64(e.down)) > 1e-9 {
		t.Errorf("of a polynomial %g V and −%g V are left", e.up, e.down)
	}
	wave[200]++
	s.sum(wave)
	if e := course.leaves(wave[at:end], s.sums, at); math.Abs(float64(e.up)-1) > 0.05 {
		t.Errorf("of a spark of 1 V %.3f V are left", e.up)
	}
}
