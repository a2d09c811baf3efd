package teeth

import (
	"math"
	"slices"
	"testing"
)

// TestOrder: teeth come in the order of time whatever the wave does. A logic
// signal's edges are lost and found again and again.
func TestOrder(t *testing.T) {
	for _, duty := range []float64{0.3, 0.5, 0.65} {
		for _, sampleHz := range []float64{60e3, 100e3, 200e3} {
			var v []float64
			turned := 0.0
			for len(v) < int(1.5*sampleHz) {
				rpm := 800 + 3400*float64(len(v))/sampleHz
				turned += rpm / 60 / sampleHz
				place := 36 * (turned - math.Floor(turned))
				level := 0.0
				if place < 35 && place-math.Floor(place) < duty {
					level = 5
				}
				v = append(v, level)
			}
			var seen viewing
			_, err := Measure(wave(v, 1/sampleHz, 4096), Options{Wheel: wheel(t, "36-1"), Watch: &seen})
			if err != nil {
				t.Fatal(err)
			}
			if !slices.IsSortedFunc(seen.Teeth, func(a, b Passage) int { return int(a.At - b.At) }) {
				t.Errorf("duty %g, %g samples a second: teeth go back in time", duty, sampleHz)
			}
		}
	}
}
