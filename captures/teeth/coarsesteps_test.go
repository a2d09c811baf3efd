package teeth

import (
	"math"
	"slices"
	"testing"

	"armcurve/captures"
)

// TestCoarseSteps: where an instrument has some twenty steps for the wave, round tops stand
// at the last of them for a while, and are not cut off; those that are stand longer.
func TestCoarseSteps(t *testing.T) {
	const hz, step = 100e3, 0.17
	for _, cutV := range []float64{math.Inf(1), 9.4 * step} {
		for i := range 10 {
			b := bumps{places: gapped(36, 1), sigma: 0.2 / 36, rpm: 1000}
			top := step * (20.5 + 0.1*float64(i))
			v := b.drive(hz, 1, 0.02, func(s, _ float64) float64 { return 800 + 5200*s })
			scale := top / slices.Max(v)
			for i := range v {
				v[i] = step * math.Round(max(-cutV, min(cutV, v[i]*scale))/step)
			}
			m, err := Measure(wave(v, 1/hz, 4096), Options{})
			if err != nil {
				t.Fatal(err)
			}
			isTold := slices.ContainsFunc(m.Findings, func(f captures.Finding) bool { return f.Kind == "clipped" })
			if isTold != !math.IsInf(cutV, 1) {
				t.Errorf("cut at %g V, top at %.3g V: findings %v", cutV, top, m.Findings)
			}
		}
	}
}
