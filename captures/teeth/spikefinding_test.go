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

// TestWaveCutShortIsNoSpark: a wave that ends at once at the gap's edges has kinks there
// that no other teeth have, which are no sparks; what comes half a pitch away is one.
func TestWaveCutShortIsNoSpark(t *testing.T) {
	const noise, turns = 0.002, 60
	for _, c := range []struct {
		wheel string
		pitch float64 // samples
		spark float64 // of the peak, in each turn
	}{
		{"36-1", 37.3, 0}, {"36-1", 93.1, 0}, {"60-2", 41.7, 0}, {"12-1", 203.4, 0}, {"36-2-2-2", 61.3, 0},
		{"36-1", 93.1, 0.08}, {"36-2-2-2", 61.3, 0.12},
	} {
		w := wheel(t, c.wheel)
		random := rand.New(rand.NewPCG(7, 8))
		v := make([]float64, int(turns*float64(w.Pitches)*c.pitch))
		for i := range v {
			x := float64(i) / c.pitch
			place := int(math.Round(x)) % w.Pitches
			v[i] = noise * random.NormFloat64()
			if slices.Contains(w.Positions, place) {
				v[i] -= math.Sin(2 * math.Pi * x)
			}
			if at := math.Mod(x, float64(w.Pitches)) - float64(w.Pitches) + 1.05; at >= 0 && at*c.pitch < 4 {
				v[i] += c.spark
			}
		}
		m, err := Measure(wave(v, 1e-5, 4096), Options{Wheel: w})
		if err != nil {
			t.Fatal(err)
		}
		if s := m.Readings[0].SpikeV.Value; s > 1.2*c.spark || s < 0.5*c.spark {
			t.Errorf("%s, %g samples in a pitch: spikes of %.3f V, want %g", c.wheel, c.pitch, s, c.spark)
		}
	}
}
