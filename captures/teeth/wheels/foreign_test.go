package wheels

import (
	"testing"

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
