package wheels

import (
	"math"
	"testing"

	"armcurve/captures/teeth/pulses"
)

// TestWithoutFills: six cylinders slow a 12-1 wheel three times a turn, by so much that its
// gap passes in the time of a pitch elsewhere. Each slow tooth is as weak as a pulse of
// noise; without them the wheel would turn more evenly, but its lobes are those of teeth. A
// pulse that noise makes in the gap is left out.
func TestWithoutFills(t *testing.T) {
	const turns, pitch = 3, 600.0
	p := New(GapsOf(parsed(t, "12-1")))
	for _, filled := range []bool{false, true} {
		var marks []pulses.Mark
		add := func(place, flux, height float64) {
			sin, cos := math.Sincos(2 * math.Pi * (place - 1) / 4)
			speed := 1 / (1 + 0.4*cos)
			marks = append(marks, pulses.Mark{
				At: pitch * (place + 0.4*4/(2*math.Pi)*sin), Own: pitch / speed / 2.2, Flux: flux,
				PeakV: height * speed, TroughV: height * speed,
			})
		}
		for turn := range turns {
			for _, place := range p.Wheel.Positions {
				at := float64(12*turn + place)
				flux := 1.0
				if place%4 == 1 {
					flux = 0.5
				}
				add(at, flux, 1)
			}
			if filled {
				add(float64(12*turn+11), 0.5, 0.3)
			}
		}
		kept := p.WithoutFills(marks)
		inGap := 0
		for _, m := range kept {
			if m.PeakV < 0.8 && m.Flux < 1 && m.Own < pitch/2.2 {
				inGap++
			}
		}
		if inGap > 0 || !filled && len(kept) != len(marks) {
			t.Errorf("filled %v: %d of %d marks are kept, %d of them in gaps", filled, len(kept), len(marks), inGap)
		}
	}
}
