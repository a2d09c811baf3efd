package teeth

import (
	"math"
	"math/rand/v2"
	"testing"
)

// TestPeaksInStrongNoise: noise of a fifth of the peak makes peaks neither high nor low,
// at one speed or in a pull; single ones scatter by no more than all samples of a tooth
// allow, and the tooth that is the weakest by chance is not taken for weak.
func TestPeaksInStrongNoise(t *testing.T) {
	const hz, perPitch, seeds = 60e3, 25, 4
	for name, sigma := range map[string]float64{"narrow": 0.16, "usual": 0.22} {
		b := bumps{places: gapped(36, 1), sigma: sigma / 36, rpm: hz * 60 / 36 / perPitch}
		_, peakV := b.truth(20)
		var bias, scatter, weakest float64
		for seed := range uint64(seeds) {
			v := b.samples(hz, 2, 0, 0)
			random := rand.New(rand.NewPCG(9, seed))
			for i := range v {
				v[i] += 0.2 * peakV * random.NormFloat64()
			}
			m, err := Measure(wave(v, 1/hz, 4096), Options{Wheel: wheel(t, "36-1"), KeepTeeth: true})
			if err != nil {
				t.Fatal(err)
			}
			squares, n := 0.0, 0.0
			for _, tooth := range m.ToothList[100:] {
				if tooth.Number > 1 && tooth.Number < 35 {
					squares += math.Pow(tooth.PeakV/peakV-1, 2)
					n++
				}
			}
			bias += (m.Readings[0].PeakV.Value/peakV - 1) / seeds
			weakest += (m.Readings[0].WeakestV.Value/peakV - 1) / seeds
			scatter += math.Sqrt(squares/n) / seeds
		}
		t.Logf("%s: peaks off by %+.2f %%, single ones by %.1f %%, the weakest by %+.2f %%", name, 100*bias, 100*scatter, 100*weakest)
		if math.Abs(bias) > 0.01 || math.Abs(weakest) > 0.02 || scatter > 0.1 {
			t.Errorf("%s: peaks off by %+.2f %%, single ones by %.1f %%, the weakest by %+.2f %%", name, 100*bias, 100*scatter, 100*weakest)
		}
	}
}
