package wheels

import (
	"testing"

	"armcurve/captures"
	"armcurve/captures/teeth/pulses"
)

// TestShortToothOpposite: a short tooth just opposite the gap of a small wheel makes it no
// half of that with another sensor's pulses in every second gap; where such a pulse is not
// where a tooth would be, or the half would be a wheel, it does.
func TestShortToothOpposite(t *testing.T) {
	for _, c := range []struct {
		name    string
		pitches int
		at      float64 // pitches from the gap's middle
		want    string
	}{
		{"a short tooth", 12, 0, "12-1"},
		{"a pulse elsewhere", 12, 0.3, "6-1"},
		{"a wheel of many teeth", 72, 0, "36-1"},
	} {
		var run []pulses.Mark
		for k := range 40 * c.pitches {
			m := pulses.Mark{At: 50 * float64(k), Flux: 1, Swing: 1, Width: 32, Own: 32, PeakV: 1, TroughV: 1, FarV: 1}
			switch k % c.pitches {
			case c.pitches - 1:
				continue
			case c.pitches/2 - 1:
				m.At += 50 * c.at
				m.Flux, m.Swing, m.PeakV = 0.5, 0.5, 0.5
			}
			run = append(run, m)
		}
		r := Recogniser{}
		p := r.Choose(run, true)
		if p == nil || p.Wheel.String() != c.want {
			t.Errorf("%s: %v, want %s", c.name, p, c.want)
		}
	}
}

// TestStatedBesideForeign: a pulse half as strong as the teeth comes in the gap in every
// second turn. Teeth that come as they were tell that it is no tooth of a larger wheel; where
// they are told a little unlike, as such pulses move the level that they are told from, only
// a stated wheel does.
func TestStatedBesideForeign(t *testing.T) {
	stated, err := captures.ParseWheel("36-1")
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct {
		unlike   float64
		isStated bool
		want     string
	}{
		{0, false, "36-1"}, {0, true, "36-1"}, {0.01, false, "72-1"}, {0.01, true, "36-1"}, {0.03, true, "72-1"},
	} {
		n := Recogniser{}
		if c.isStated {
			n.Stated = stated
		}
		if p := n.Choose(withOneInSecondTurns(c.unlike), true); p == nil || p.Wheel.String() != c.want {
			t.Errorf("%+v: %+v", c, p)
		}
	}
}

// withOneInSecondTurns are the marks of eight turns of a 36-1 wheel whose teeth are so much
// higher in every second turn; in the others there is a pulse in the gap. Another one takes
// from a tooth.
func withOneInSecondTurns(unlike float64) (run []pulses.Mark) {
	const pitch = 100.0
	mark := func(place, height float64) pulses.Mark {
		return pulses.Mark{At: place * pitch, Width: 22, Own: 22, Flux: 30 * height, Swing: 30 * height, PeakV: height, TroughV: height}
	}
	for turn := range 8 {
		height := 1 + unlike*float64(turn%2)
		for place := range 35 {
			h := height
			if place == 8 && turn%2 == 1 {
				h *= 0.6
			}
			run = append(run, mark(float64(36*turn+place), h))
		}
		if turn%2 == 0 {
			run = append(run, mark(float64(36*turn)+35.2, 0.5))
		}
	}
	return run
}
