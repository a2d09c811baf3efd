package wheels

import (
	"math"
	"math/rand/v2"
	"testing"

	"armcurve/captures/teeth/pulses"
)

// TestRepeats: teeth that differ a little make of three like parts one turn, however
// slowly the amplitude changes beside, and so does one running out; hum of 60 Hz at 309
// rpm, which nearly keeps to three turns, does not, nor what turns 35 times in three.
func TestRepeats(t *testing.T) {
	const turns, sampleHz = 24, 20000.0
	found := New(GapsOf(parsed(t, "16-2")))
	pitch := 60 / 309.0 / 16 * sampleHz
	marksOf := func(level func(order, slot int, at float64) float64) []pulses.Mark {
		random := rand.New(rand.NewPCG(3, 4))
		var marks []pulses.Mark
		for order := range turns {
			for slot, place := range found.Wheel.Positions {
				at := pitch * float64(16*order+place)
				v := level(order, slot, at) + 0.002*random.NormFloat64()
				marks = append(marks, pulses.Mark{At: at, Own: pitch / 2.2, Flux: 1, PeakV: v, TroughV: v})
			}
		}
		return marks
	}
	uneven := func(order, slot int, at float64) float64 {
		return (1 + 0.03*math.Sin(float64(5*(order%3)+slot*slot))) * (1 + at/1e6)
	}
	humming := func(_, _ int, at float64) float64 { return 1 + 0.03*math.Sin(2*math.Pi*60*at/sampleHz) }
	turning := func(times float64) func(_, _ int, at float64) float64 {
		return func(_, _ int, at float64) float64 { return 1 + 0.03*math.Sin(2*math.Pi*times*at/(48*pitch)) }
	}
	for _, c := range []struct {
		name  string
		level func(order, slot int, at float64) float64
		want  bool
	}{{"three parts", uneven, true}, {"running out", turning(1), true}, {"hum", humming, false}, {"belt", turning(35), false}} {
		marks := marksOf(c.level)
		if got := repeats(marks, NewIntervals(marks), found); (got == 3) != c.want {
			t.Errorf("%s: the order comes %d times in a turn", c.name, got)
		}
	}
}

// TestRepeatsInRipple: six cylinders slow the wheel three times a turn. What of that shows
// in the heights, behind a coil, is no unevenness of a wheel whose turn holds one order;
// unequal teeth are, in the same ripple.
func TestRepeatsInRipple(t *testing.T) {
	const turns, pitch = 24, 600.0
	found := New(GapsOf(parsed(t, "16-2")))
	for _, c := range []struct {
		name   string
		uneven float64
		want   int
	}{{"ripple", 0, 0}, {"unequal teeth", 0.12, 1}} {
		var marks []pulses.Mark
		for order := range turns {
			for slot, place := range found.Wheel.Positions {
				turned := float64(16*order + place)
				sin, cos := math.Sincos(2 * math.Pi * turned / 16)
				speed := 1 / (1 + 0.4*cos)
				v := speed * (1 + 0.06*cos + c.uneven*math.Sin(float64(slot*slot)))
				marks = append(marks, pulses.Mark{At: pitch * (turned + 0.4*16/(2*math.Pi)*sin), Own: pitch / speed / 2.2, Flux: 1, PeakV: v, TroughV: v})
			}
		}
		if got := repeats(marks, NewIntervals(marks), found); got != c.want {
			t.Errorf("%s: the order comes %d times in a turn, want %d", c.name, got, c.want)
		}
	}
}
