package teeth

import (
	"math"
	"testing"
)

// TestPolarityCranking: compression slows the wheel by 40 % twice a turn, wherever in
// the turn its gap is; of such a wave polarity is told right, or not at all.
func TestPolarityCranking(t *testing.T) {
	const steps = 24
	for _, reversed := range []bool{false, true} {
		truth := Normal
		if reversed {
			truth = Reversed
		}
		told := 0
		for step := range steps {
			e := engine{wheel: "36-1", sigma: (0.16 + 0.04*float64(step%4)) / 36, rpm: 272, end: 272, ripple: 0.45, cylinder: 4, hz: 40000, seconds: 1.5,
				cornerHz: 222, noise: 0.01, step: 0.004, phase: float64(step) / steps, reversed: reversed, seed: uint64(step)}
			for p := range 35 {
				turns := float64(p) / 36
				e.places = append(e.places, turns)
				e.gains = append(e.gains, 1+0.08*math.Cos(2*math.Pi*(turns+0.1)))
			}
			switch m := e.measure(t); m.Polarity {
			case truth:
				told++
			case Unknown:
			default:
				t.Errorf("gap at %d/%d of a turn: %s for %s: %s", step, steps, m.Polarity, truth, m.PolarityWhy)
			}
		}
		t.Logf("%s: told in %d of %d", truth, told, steps)
		if told < steps/2 {
			t.Errorf("%s: told in %d of %d", truth, told, steps)
		}
	}
}
