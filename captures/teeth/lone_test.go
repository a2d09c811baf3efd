package teeth

import (
	"testing"

	"armcurve/captures"
	"armcurve/captures/simulate"
)

// TestLoneTooth: the teeth of a cam with one, narrow as they are and so far apart, are
// all found in a pull.
func TestLoneTooth(t *testing.T) {
	g := rig(t, "36-1")
	g.Speed, g.LengthS, g.SampleHz = simulate.Pull(700, 5000, 3), 3, 60e3
	cam := g.Sensors[0]
	cam.Name, cam.OnCam, cam.Wheel = captures.Cam, true, wheel(t, "1")
	cam.DiameterMM, cam.ToothMM, cam.GapMM = 120, 2, 0.5
	cam.Noise = []simulate.Noise{{SigmaV: 0.02, RateHz: 9000}}
	g.Sensors = []simulate.Sensor{cam}
	m, truth := simulated(t, g, Options{OnCam: true, Wheel: wheel(t, "1")})
	if len(m.ToothList) != len(truth) || len(m.Readings) < 10 {
		t.Errorf("%d of %d teeth, %d readings: %s; %s", len(m.ToothList), len(truth), len(m.Readings), m.SignalWhy, m.WheelWhy)
	}
}
