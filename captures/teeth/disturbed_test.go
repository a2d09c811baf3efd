package teeth

import (
	"math"
	"math/rand/v2"
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

// TestLifted: sparks that lift the same four teeth of 24 by a tenth in every turn, not
// beyond what a wheel that runs out may do, lift no mean.
func TestLifted(t *testing.T) {
	const pitch, turns, noise, sparkWide, sparkV = 83.3, 150, 0.03, 5, 0.2
	for _, at := range []float64{-0.28, -0.22, -0.18} { // pitches before a fall
		random := rand.New(rand.NewPCG(11, 4))
		v := make([]float64, int(turns*24*pitch))
		for i := range v {
			x := float64(i) / pitch
			spark := x - at - 6*math.Round((x-at)/6)
			v[i] = -math.Sin(2*math.Pi*x) + noise*random.NormFloat64() + sparkV*math.Exp(-math.Abs(spark)*pitch/sparkWide)
		}
		m, err := Measure(wave(v, 5e-6, 4096), Options{Wheel: wheel(t, "24")})
		if err != nil {
			t.Fatal(err)
		}
		if peak := m.Readings[0].PeakV.Value; math.Abs(peak-1) > 0.005 {
			t.Errorf("sparks %g pitches before the fall: peaks of %.4f V, want 1", -at, peak)
		}
	}
}
