package teeth

import (
	"fmt"
	"testing"

	"armcurve/captures/simulate"
)

// TestSparks: sparks of several times a tooth that ring as fast as the teeth come,
// beside a tooth, on its fall and in the gap, hide no tooth and pass for none.
func TestSparks(t *testing.T) {
	for _, height := range []float64{-5, 2, 6} {
		for _, angle := range []float64{66, 68, 70, 166.5} {
			g := rig(t, "60-2")
			g.Speed = simulate.Pull(3000, 7000, 1)
			g.LengthS = 1
			g.SampleHz = 150e3
			_, truth := simulated(t, g, Options{})
			g.Sensors[0].Noise = []simulate.Noise{{SigmaV: 0.01 * meanPeak(truth)}}
			g.Sensors[0].Sparks = []simulate.Spark{{
				AnglesDeg: []float64{angle, angle + 180, angle + 360, angle + 540}, Jitter: 0.05,
				HeightV: height * meanPeak(truth), AtRPM: 5000, Power: 2, RingHz: 11000, DecayS: 1.2e-4,
			}}
			m, truth := simulated(t, g, Options{})
			a := compare(g, m, truth)
			a.log(t, fmt.Sprintf("%g × at %g°", height, angle))
			if a.missed > 0 || a.false > 1 || m.Unseen > 0 {
				t.Errorf("%g × at %g°: %d missed, %d false, %d unseen of %d", height, angle, a.missed, a.false, m.Unseen, a.truth)
			}
		}
	}
}
