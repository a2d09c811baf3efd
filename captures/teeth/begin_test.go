package teeth

import (
	"math"
	"math/rand/v2"
	"testing"

	"armcurve/captures/simulate"
)

// TestFirstTeeth: nothing is passed over where a capture begins, be it slower than
// most of what follows, or amid the tooth before a gap.
func TestFirstTeeth(t *testing.T) {
	pull := bumps{places: gapped(24, 1), sigma: 0.25 / 24, rpm: 450}
	slow := bumps{places: gapped(12, 1), sigma: 0.2 / 12, rpm: 150}
	for _, c := range []struct {
		name  string
		v     []float64
		hz    float64
		wheel string
		byS   float64 // when three teeth must have passed
	}{
		{"pull", pull.drive(70e3, 1.5, 0, func(s, _ float64) float64 { return 450 + 3200*s }), 70e3, "24-1", 0.019},
		{"slow pull in noise", pull.drive(30e3, 3, 0.05, func(s, _ float64) float64 { return 300 + 2000*s }), 30e3, "24-1", 0.03},
		{"cranked, sampled often", slow.drive(600e3, 1.2, 0.01, func(_, _ float64) float64 { return 150 }), 600e3, "12-1", 0.11},
		{"amid a tooth", beforeGap(24e3, 3), 24e3, "60-2", 0.021},
	} {
		m, err := Measure(wave(c.v, 1/c.hz, 4096), Options{Wheel: wheel(t, c.wheel), KeepTeeth: true})
		if err != nil {
			t.Fatal(err)
		}
		if n := len(m.ToothList); n < 3 || m.ToothList[2].TimeS > c.byS {
			t.Errorf("%s: the third of %d teeth not by %g s", c.name, n, c.byS)
		}
	}
}

// beforeGap is the wave of a 60-2 wheel of wide teeth at 260 rpm, through a coil and
// its load, that begins just where the last tooth before the gap passes.
func beforeGap(hz, seconds float64) []float64 {
	const apart, edge, perPitch, smooth = 0.43, 0.12, 1.0 / 260, 1 / (2 * math.Pi * 237)
	random := rand.New(rand.NewPCG(3, 4))
	bump := func(x float64) float64 { return 1 / math.Pow(math.Cosh(x/edge), 2) }
	var v []float64
	held := 0.0
	for i := -int(3 * perPitch * hz); i < int(seconds*hz); i++ {
		place := float64(i)/hz/perPitch + 0.1
		tooth := math.Round(place)
		raw := 0.0
		for k := tooth - 1; k <= tooth+1; k++ {
			if in := math.Mod(k+600, 60); in != 1 && in != 2 {
				raw += bump(place-k+apart/2) - bump(place-k-apart/2)
			}
		}
		if held += (raw - held) / (smooth * hz); i >= 0 {
			v = append(v, held+0.01*random.NormFloat64())
		}
	}
	return v
}

// TestBeginsAmidTop: of a tooth at whose top the wave begins no height is told, and what
// the tooth's neighbours have more is no spike.
func TestBeginsAmidTop(t *testing.T) {
	g := rig(t, "24")
	g.LengthS = 0.15
	g.Speed, g.Sensors[0].RunOutMM = simulate.Steady(3000), 0.1
	for startDeg := 0.0; startDeg < 15; startDeg += 0.5 {
		g.StartDeg = startDeg
		m, truth := simulated(t, g, Options{Wheel: wheel(t, "24")})
		if spike := m.Readings[0].SpikeV.Value; spike != 0 {
			t.Errorf("from %g°: a spike of %.3g V", startDeg, spike)
		}
		first := m.ToothList[0]
		for _, tooth := range truth {
			if math.Abs(tooth.TimeS-first.TimeS) < 1e-4 && math.Abs(first.PeakV/tooth.PeakV-1) > 0.01 {
				t.Errorf("from %g°: the first tooth rises to %.3f V, found %.3f V", startDeg, tooth.PeakV, first.PeakV)
			}
		}
	}
}
