package teeth

import (
	"math"
	"testing"

	"armcurve/captures/teeth/wheels"
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

// swingsAt are whole swings at some pitches of each turn, a pitch being 100 samples.
func swingsAt(pitches int, places ...float64) []wheels.Mark {
	const turns, pitch = 6, 100
	var marks []wheels.Mark
	for turn := range turns {
		for _, place := range places {
			at := pitch * (place + float64(turn*pitches))
			marks = append(marks, wheels.Mark{At: at, Own: 40, Flux: 56, PeakV: 1, TroughV: 1})
		}
	}
	return marks
}

// count lists places a pitch apart.
func count(from, to float64) []float64 {
	var places []float64
	for place := from; place <= to; place++ {
		places = append(places, place)
	}
	return places
}

// TestPassedOver: where rises were passed over, be it at the same place in each
// turn, they show no gap.
func TestPassedOver(t *testing.T) {
	teeth := swingsAt(36, count(0, 34)...)
	spaces := swingsAt(36, append(count(3.5, 33.5), 35)...)
	if got, why := byOrder(teeth, spaces); got == Reversed {
		t.Errorf("three rises are lacking: %s: %s", got, why)
	}
	if got, why := byGaps(teeth, spaces); got != Normal {
		t.Errorf("three rises are lacking: %s: %s", got, why)
	}
	if got, why := byOrder(spaces, teeth); got == Normal {
		t.Errorf("three falls are lacking: %s: %s", got, why)
	}
}

// TestStandApart: swings between those of teeth that stand apart are of other teeth.
func TestStandApart(t *testing.T) {
	strong, beside := swingsAt(12, 0, 3, 6, 9), swingsAt(12, 0.5, 2.5, 3.5, 5.5, 6.5, 8.5, 9.5, 11.5)
	for i := range strong {
		strong[i].Flux *= 2
	}
	if got, why := byStrength(strong, beside); got != Normal {
		t.Errorf("%s: %s", got, why)
	}
	among := swingsAt(12, 0.5, 1, 2, 2.5, 3.5, 4, 5, 5.5, 6.5, 7, 8, 8.5, 9.5, 10, 11, 11.5)
	if got, why := byStrength(among, strong); got != Unknown {
		t.Errorf("%s: %s", got, why)
	}
}

// TestBetweenTeeth: a gap lies between teeth; seen in the spaces, with the weak swings
// in it not seen, it has a tooth at either end, and two parts where they run together.
func TestBetweenTeeth(t *testing.T) {
	teeth, spaces := swingsAt(60, count(0, 57)...), swingsAt(60, count(0.5, 56.5)...)
	p60, wrong := wheels.New(wheels.GapsOf(wheel(t, "60-2"))), wheels.New(wheels.GapsOf(wheel(t, "60-3")))
	if !betweenTeeth(p60, teeth, spaces) {
		t.Error("60-2: its gap is not taken for one")
	}
	if betweenTeeth(wrong, spaces, teeth) {
		t.Error("60-2 the wrong way round: the gap of its spaces is taken for one")
	}
	merged := swingsAt(60, append(count(0.5, 56.5), 58.5)...)
	split := make([]int, 58)
	for i := range split {
		split[i] = 1
	}
	split[56], split[57] = 2, 2
	if betweenTeeth(wheels.New(split), merged, teeth) {
		t.Error("60-2 the wrong way round: the parts of its gap are taken for two")
	}
}
