package polarity

import (
	"math"
	"testing"

	"armcurve/captures"
	"armcurve/captures/teeth/pulses"
	"armcurve/captures/teeth/wheels"
)

// swingsAt are whole swings at some pitches of each turn, a pitch being 100 samples.
func swingsAt(pitches int, places ...float64) []pulses.Mark {
	const turns, pitch = 6, 100
	var marks []pulses.Mark
	for turn := range turns {
		for _, place := range places {
			at := pitch * (place + float64(turn*pitches))
			marks = append(marks, pulses.Mark{At: at, Own: 40, Flux: 56, PeakV: 1, TroughV: 1})
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

// TestMovedIsNoGap: where something moves a rise, the same in every turn from some speed
// on, the wheel has no gap there, and tells nothing of the wires.
func TestMovedIsNoGap(t *testing.T) {
	const turns, teeth, pitch = 18, 24, 100.0
	for _, by := range []float64{0.6, 0.75} {
		var falls, rises []pulses.Mark
		for k := range turns * teeth {
			m := pulses.Mark{At: pitch * float64(k), Own: 40, Flux: 56, PeakV: 1, TroughV: 1}
			falls = append(falls, m)
			m.At += pitch / 2
			if k%teeth == 12 && k > turns/2*teeth+teeth {
				m.At += by * pitch
			}
			rises = append(rises, m)
		}
		if got, why := byGaps(falls, rises); got != Unknown {
			t.Errorf("a rise comes %g pitches late: %s: %s", by, got, why)
		}
		if got, why := byGaps(rises, falls); got != Unknown {
			t.Errorf("a fall comes %g pitches late: %s: %s", by, got, why)
		}
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
	var copied []pulses.Mark // of another sensor's wave, weak and everywhere between
	for _, m := range swingsAt(12, 0.5, 1, 1.5, 2, 2.5, 3.5, 4, 4.5, 5, 5.5, 6.5, 7, 7.5, 8, 8.5, 9.5, 10, 10.5, 11, 11.5) {
		if off := math.Abs(math.Remainder(m.At/100, 3)); off > 0.6 {
			m.Flux /= 4
		}
		copied = append(copied, m)
	}
	if got, why := byStrength(strong, copied); got != Normal {
		t.Errorf("beside a copy: %s: %s", got, why)
	}
	if got, why := byStrength(copied, strong); got != Reversed {
		t.Errorf("beside a copy, reversed: %s: %s", got, why)
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
	p60, wrong := wheels.New(wheels.GapsOf(parsed(t, "60-2"))), wheels.New(wheels.GapsOf(parsed(t, "60-3")))
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

func parsed(t *testing.T, text string) captures.Wheel {
	t.Helper()
	w, err := captures.ParseWheel(text)
	if err != nil {
		t.Fatal(err)
	}
	return w
}
