package teeth

import (
	"fmt"
	"testing"

	"armcurve/captures/simulate"
)

// TestEnds: a pull so fast that the speed grows by half within its first turn, or falls
// so within its last, is read from its lowest speed on.
func TestEnds(t *testing.T) {
	for name, speed := range map[string]simulate.Profile{
		"up":   {{AtS: 0, RPM: 600}, {AtS: 0.8, RPM: 5000}},
		"down": {{AtS: 0, RPM: 5000}, {AtS: 0.8, RPM: 600}},
	} {
		for _, text := range []string{"36-1", "12-1", "36-2-2-2"} {
			g := rig(t, text)
			g.Speed, g.LengthS, g.SampleHz = speed, 0.8, 150e3
			_, truth := simulated(t, g, Options{Wheel: wheel(t, text)})
			g.Sensors[0].RunOutMM = 0.05 // by which the teeth beside the ends are not the mean
			m, _ := simulated(t, g, Options{Wheel: wheel(t, text)})
			if len(m.Readings) < 10 {
				t.Errorf("%s, %s: %d readings", text, name, len(m.Readings))
				continue
			}
			if low := m.Readings[0].RPM; low > 700 {
				t.Errorf("%s, %s: read from %.0f rpm on", text, name, low)
			}
			for _, r := range m.Readings {
				// The truth has the speed at the fall, a quarter of a pitch behind the peak.
				near(t, fmt.Sprintf("%s, %s: peak at %.0f rpm", text, name, r.RPM), r.PeakV.Value, truthAt(truth, r.RPM), 0.015)
			}
		}
	}
}

// TestEndsBesideGap: behind a slow coil a tooth beside a gap is otherwise high at low
// speeds than at high ones. What is read of teeth before the first turn does not rest on it.
func TestEndsBesideGap(t *testing.T) {
	for _, text := range []string{"36-1", "60-2", "36-2-2-2"} {
		for begin := 600.0; begin < 700; begin += 20 {
			g := rig(t, text)
			g.Speed = simulate.Profile{{AtS: 0, RPM: begin}, {AtS: 4, RPM: 6500}}
			g.LengthS, g.SampleHz = 4, 150e3
			g.Ripple = simulate.Ripple{Share: 0.2, AtRPM: 200, Cylinders: 4}
			g.Sensors[0].Coil.InductanceH = 3
			_, truth := simulated(t, g, Options{Wheel: wheel(t, text)})
			m, _ := simulated(t, g, Options{Wheel: wheel(t, text)})
			for _, r := range m.Readings[:5] {
				near(t, fmt.Sprintf("%s from %.0f rpm: peak at %.0f rpm", text, begin, r.RPM), r.PeakV.Value, truthAt(truth, r.RPM), 0.025)
			}
		}
	}
}
