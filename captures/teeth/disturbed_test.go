package teeth

import (
	"math"
	"slices"
	"testing"

	"armcurve/captures/simulate"
)

// TestTallTeethFew: of four teeth that run out one is much lower and one much higher than
// the others, and none of them struck: the lowest was taken for one of the others.
func TestTallTeethFew(t *testing.T) {
	for _, runOutMM := range []float64{0.5, 0.7} {
		g := rig(t, "4")
		g.Speed, g.LengthS, g.SampleHz = simulate.Steady(3000), 2, 50e3
		s := &g.Sensors[0]
		s.ToothMM, s.PoleMM, s.RunOutMM, s.RunOutDeg = 12, 6, runOutMM, 0
		m, truth := simulated(t, g, Options{Wheel: s.Wheel})
		const turns = 50
		var mean [4]float64
		for _, tooth := range truth[4 : 4+4*turns] {
			mean[tooth.Number-1] += tooth.PeakV / turns
		}
		off := m.Readings[0].WeakestV.Value/slices.Min(mean[:]) - 1
		t.Logf("run-out %g mm: teeth of %.4g V, weakest off by %+.2f %%", runOutMM, mean, 100*off)
		if math.Abs(off) > 0.01 {
			t.Errorf("run-out %g mm: weakest off by %+.2f %%", runOutMM, 100*off)
		}
	}
}
