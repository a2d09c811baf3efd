package teeth

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"armcurve/captures"
)

// TestKinksAreNoSpikes: a wave with kinks, of which samples show little, leaves 2 to 3 %
// of the peak where teeth are compared. The readings state it, and no spikes are spoken of;
// of twice as much they are.
func TestKinksAreNoSpikes(t *testing.T) {
	const pitch, half, noise, turns = 37.3, 0.58, 0.002, 60
	random := rand.New(rand.NewPCG(5, 6))
	for _, c := range []struct {
		spark  float64 // of the peak, in each turn between two teeth
		isTold bool
	}{{0, false}, {0.06, true}} {
		var v []float64
		for i := range int(turns * 24 * pitch) {
			x := float64(i) / pitch
			x -= math.Round(x)
			volts := noise * random.NormFloat64()
			for _, from := range []float64{x - 1, x, x + 1} {
				if math.Abs(from) < half {
					volts -= math.Sin(math.Pi * from / half)
				}
			}
			if math.Mod(float64(i)+3, 24*pitch) < 2 {
				volts += c.spark
			}
			v = append(v, volts)
		}
		m, err := Measure(wave(v, 1e-5, 4096), Options{Wheel: wheel(t, "24")})
		if err != nil {
			t.Fatal(err)
		}
		isTold := slices.ContainsFunc(m.Findings, func(f captures.Finding) bool { return f.Kind == "spikes" })
		t.Log(m.Readings[0].SpikeV, isTold)
		if r := m.Readings[0]; isTold != c.isTold || !(r.SpikeV.Value > 0.02) {
			t.Errorf("spark of %g: spikes of %.3f V, spoken of: %v", c.spark, r.SpikeV.Value, isTold)
		}
	}
}
