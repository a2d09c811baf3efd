package teeth

import (
	"fmt"
	"math"
	"testing"

	"armcurve/captures/simulate"
)

// TestReadingRPM: a reading's speed is right within 0.1 % where the gaps move the
// falls beside them, where teeth are few and where the speed ripples.
func TestReadingRPM(t *testing.T) {
	for _, c := range []struct {
		wheel     string
		rpm       float64
		ripple    float64
		cylinders int
		gapMM     float64
	}{{"36-2-2-2", 3000, 0, 4, 3}, {"36-1", 6000, 0, 4, 3}, {"8-1", 250, 0.2, 6, 1}, {"6-1", 220, 0.1, 4, 1}, {"36-1", 250, 0.4, 4, 1}} {
		g := rig(t, c.wheel)
		g.Speed, g.LengthS = simulate.Steady(c.rpm), min(3, 40*60/c.rpm)
		g.Ripple = simulate.Ripple{Share: c.ripple, AtRPM: c.rpm, Cylinders: c.cylinders}
		g.Sensors[0].GapMM = c.gapMM
		g.Sensors[0].Noise = []simulate.Noise{{SigmaV: 0.005, RateHz: 9000}}
		m, _ := simulated(t, g, Options{Wheel: wheel(t, c.wheel)})
		if len(m.Readings) != 1 {
			t.Errorf("%s: %d readings", c.wheel, len(m.Readings))
			continue
		}
		near(t, fmt.Sprintf("%s, ripple %g: rpm", c.wheel, c.ripple), m.Readings[0].RPM, c.rpm, 0.001)
	}
}

// TestFewTeethInPull: of a wheel of few teeth whose speed grows much within a turn,
// a reading's peak is that of its speed. Slowly turning wheels make peaks in
// proportion to their speed.
func TestFewTeethInPull(t *testing.T) {
	for _, text := range []string{"1", "@0,180,420", "4-1"} {
		g := rig(t, text)
		g.Speed, g.LengthS, g.SampleHz = simulate.Pull(900, 3000, 2), 2, 100e3
		s := &g.Sensors[0]
		s.OnCam, s.Coil.InductanceH, s.DiameterMM, s.ToothMM = true, 0, 80, 8
		m, _ := simulated(t, g, Options{Wheel: wheel(t, text), OnCam: true})
		if len(m.Readings) < 8 {
			t.Errorf("%s: %d readings", text, len(m.Readings))
			continue
		}
		last := m.Readings[len(m.Readings)-1]
		for _, r := range m.Readings {
			near(t, fmt.Sprintf("%s: peak at %.0f rpm", text, r.RPM), r.PeakV.Value/r.RPM, last.PeakV.Value/last.RPM, 0.01)
		}
		if has(m, "ac-coupled") {
			t.Errorf("%s: said to be AC coupled", text)
		}
	}
}

// TestCourse: the speed gained from turn to turn.
func TestCourse(t *testing.T) {
	// Speed 1 at 0, growing by 1 per sample: turned by t + t²/2.
	after := func(turns float64) float64 { return math.Sqrt(1+2*turns) - 1 }
	first, second := course{0, after(1)}, course{after(1), after(2)}
	near(t, "gain", first.gain(&second), 1, 1e-12)
	near(t, "speed in the middle", second.speed(), 1+(second.from+second.to)/2, 1e-12)
}
