package teeth

import (
	"math"
	"strings"
	"testing"

	"armcurve/captures"
)

// TestUnevenFew: few teeth at uneven angles are not taken for those of a wheel with a gap,
// in a pull or where compressions slow them down; and those of such a wheel are.
func TestUnevenFew(t *testing.T) {
	const hz = 20e3
	for _, c := range []struct {
		name   string
		places []float64 // in turns of the cam
		isEven bool
	}{
		{"@0,120,500", []float64{0, 120. / 720, 500. / 720}, false},
		{"@0,120,400,520", []float64{0, 120. / 720, 400. / 720, 520. / 720}, false},
		{"4-1", gapped(4, 1), true},
	} {
		for name, rpmAt := range map[string]func(s, turns float64) float64{
			"pull":     func(s, _ float64) float64 { return 200 + 500*s },
			"cranking": func(_, turns float64) float64 { return 105 * (1 + 0.25*math.Cos(2*math.Pi*(4*turns+0.21))) },
		} {
			b := bumps{places: c.places, sigma: 0.008, rpm: 100}
			m, err := Measure(wave(b.drive(hz, 6, 0.002, rpmAt), 1/hz, 4096), Options{OnCam: true, Sensor: captures.Cam})
			if err != nil {
				t.Fatal(err)
			}
			found := m.Wheel.String()
			if c.isEven && found != c.name || !c.isEven && found != "" && !strings.HasPrefix(found, "@") || name == "pull" && found == "" {
				t.Errorf("%s, %s: found %q: %s", c.name, name, found, m.WheelWhy)
			}
		}
	}
}
