package spikes

import (
	"math"
	"testing"

	"armcurve/captures"
)

// TestKinks: what a course leaves of a gated sine about the gap's edges is within what is
// reckoned, at all lengths of a course, and not by far less.
func TestKinks(t *testing.T) {
	w, err := captures.ParseWheel("12-1")
	if err != nil {
		t.Fatal(err)
	}
	const size = 20.0 // samples in a place
	pitch := size * profileCells
	v := make([]float64, int(14*pitch))
	for i := range v {
		if x := float64(i)/pitch - 1; int(math.Round(x+12))%12 != 11 {
			v[i] = -math.Sin(2 * math.Pi * x)
		}
	}
	for _, stretch := range []float64{1, 2, 3.2} {
		most := kinks(w, stretch)
		course := newSmoothCourse(stretch * size)
		s := Finder{}
		s.sum(v)
		highest := 0.0
		for i, bound := range most {
			at := int(pitch + size*float64(i))
			e := course.leaves(v[at:at+size], s.sums, at)
			left := math.Max(float64(e.up), float64(e.down))
			if left > bound+0.005 { // of a sine itself
				t.Errorf("stretch %g, place %d: %.4f is left, at most %.4f reckoned", stretch, i, left, bound)
			}
			highest = max(highest, left/max(bound, 0.01))
		}
		if highest < 0.4 {
			t.Errorf("stretch %g: %.2f of what is reckoned is left at most", stretch, highest)
		}
	}
}
