package teeth

import (
	"testing"

	"armcurve/captures"
)

// TestEvenAngles: a wheel that was stated by angles is used though its teeth are evenly
// spaced, and which of them is the first makes no difference.
func TestEvenAngles(t *testing.T) {
	for _, pattern := range []string{"@0,360", "@0,180,360,540"} {
		g := rig(t, pattern)
		g.Sensors[0].OnCam, g.LengthS = true, 4
		m, truth := simulated(t, g, Options{OnCam: true, Sensor: captures.Cam, Wheel: wheel(t, pattern)})
		if m.Wheel.String() != pattern || len(m.Readings) == 0 {
			t.Errorf("stated %s, found %q (%s), %d readings of %d teeth", pattern, m.Wheel, m.WheelWhy, len(m.Readings), len(truth))
		}
	}
}
