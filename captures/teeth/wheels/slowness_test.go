package wheels

import (
	"math"
	"testing"

	"armcurve/captures/teeth/pulses"
)

// crankedBy are marks of teeth at places of a turn, in pitches, where the speed at an
// angle is known; behind a slow coil peaks grow as a power of it.
func crankedBy(pitches int, places []float64, turns int, speed func(turned float64) float64, follows float64) []pulses.Mark {
	const steps, pitch = 400, 60.0
	var marks []pulses.Mark
	at, turned := 0.0, 0.0
	for turn := range turns {
		for _, place := range places {
			to := (place + float64(turn*pitches)) / float64(pitches)
			for step := range steps {
				at += pitch * float64(pitches) * (to - turned) / steps / speed(turned+(float64(step)+0.5)/steps*(to-turned))
			}
			turned = to
			v := speed(turned)
			m := pulses.Mark{At: at, Own: pitch / 2.2 / v, PeakV: math.Pow(v, follows), TroughV: math.Pow(v, follows)}
			m.Flux = m.PeakV * 1.4 * m.Own
			marks = append(marks, m)
		}
	}
	return marks
}

// compressions make the wheel slow for a short while, so many times in a turn.
func compressions(perTurn, slowest float64) func(float64) float64 {
	return func(turned float64) float64 {
		return 1 - (1-slowest)*math.Pow(0.5+0.5*math.Cos(2*math.Pi*perTurn*turned), 4)
	}
}

// TestSlowIsNoGap: an interval that is long because the wheel is slow has low lobes at
// its ends, be it that they do not follow the speed quite. It is no gap; and a wheel
// stated without one, or with one elsewhere, is that.
func TestSlowIsNoGap(t *testing.T) {
	const follows = 0.6
	speed := compressions(2, 0.3)
	even := crankedBy(24, placesFrom(0, 23), 8, speed, follows)
	in := NewIntervals(even)
	if found := findPattern(in); found != nil {
		t.Errorf("24 teeth are taken for %s", found.Wheel)
	}
	n := Recogniser{Stated: parsed(t, "24")}
	if p := n.Choose(even, true); p == nil || n.Differs {
		t.Error("24 teeth, stated, are not believed")
	}
	gapped := crankedBy(12, placesFrom(0, 10), 8, compressions(4, 0.35), follows)
	if found := findPattern(NewIntervals(gapped)); found != nil && found.Wheel.String() != "12-1" {
		t.Errorf("12-1 is taken for %s", found.Wheel)
	}
	n = Recogniser{Stated: parsed(t, "12-1")}
	if p := n.Choose(gapped, true); p == nil || p.Wheel.String() != "12-1" {
		t.Error("12-1, stated, is not believed")
	}
}

// TestUnevenAngles: teeth at uneven angles, alike, pass at one speed. Four even ones
// behind a slow coil, which compression slows down three times in a turn, look like
// them but for the width of their pulses.
func TestUnevenAngles(t *testing.T) {
	uneven := crankedBy(12, []float64{0, 3, 6, 10}, 12, func(float64) float64 { return 1 }, 1)
	if findAngles(uneven, 720) == nil {
		t.Error("uneven angles are not seen")
	}
	even := crankedBy(4, placesFrom(0, 3), 12, func(turned float64) float64 { return 1 + 0.55*math.Sin(6*math.Pi*turned+0.5) }, 0)
	if p := findAngles(even, 360); p != nil {
		t.Errorf("even teeth are taken for %s", p.Wheel)
	}
}
