package teeth

import (
	"math"
	"slices"
	"testing"
)

// TestOpeningAmidCompressions: where a wave begins while compressions slow the wheel
// much, late marks are taken for no hole; where it turns evenly, they are.
func TestOpeningAmidCompressions(t *testing.T) {
	for _, ripple := range []float64{0.02, 0.4} {
		n := numberer{pattern: newPattern(slices.Repeat([]int{1}, 24)), stepS: 1e-5, crawl: 100 * 1e-5 / 60, out: func(passage) {}}
		n.trail = make([]place, 24+trailLen)
		var marks []mark
		at := 0.0
		for tooth := range 80 {
			turns := float64(tooth) / 24
			rpm := 900 * (1 + ripple*math.Cos(4*math.Pi*turns))
			at += 60 / rpm / 24 / n.stepS
			if tooth%24 != 6 {
				marks = append(marks, mark{at: at, balance: at, width: 50, own: 50, flux: 1, peakV: 1})
			}
		}
		placed := n.startBroken(marks)
		if isEven := ripple < 0.1; (placed > 0) != isEven {
			t.Errorf("ripple %g: %d of %d marks placed over holes", ripple, placed, len(marks))
		}
	}
}
