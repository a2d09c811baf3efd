package teeth

import (
	"math"
	"testing"
)

// TestWheelAmidCompressions: where the wheel slows down at each compression there is no
// gap, whatever the intervals say: the lobes are as much lower as they are longer.
func TestWheelAmidCompressions(t *testing.T) {
	for _, sigma := range []float64{0.08, 0.1, 0.12, 0.14, 0.16, 0.2} {
		for _, late := range []float64{0, 0.05, 0.1, 0.15, 0.2, 0.3, 0.4, 0.5, 0.6, 0.7, 0.8, 0.9} {
			b := bumps{places: gapped(12, 1), sigma: sigma / 12, rpm: 200}
			v := b.drive(8e3, 2.5, 0.004, func(_, turns float64) float64 {
				return 200 * (1 + 0.45*math.Cos(2*math.Pi*(4*turns+late)))
			})
			m, err := Measure(wave(v, 1/8e3, 4096), Options{})
			if err != nil {
				t.Fatal(err)
			}
			if w := m.Wheel.String(); m.Wheel.Known() && w != "12-1" {
				t.Errorf("sigma %g, compressions %g late: %s", sigma, late, w)
			}
		}
	}
}
