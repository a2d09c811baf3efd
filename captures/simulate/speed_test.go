package simulate

import (
	"math"
	"testing"
)

// The angle's rate is the speed, over corners, ripple and all.
func TestSpeedIsTheRateOfTheAngle(t *testing.T) {
	m := newMotion(CrankAndStart(200, 1, 900), Ripple{Share: 0.4, AtRPM: 200, Cylinders: 4})
	const h = 1e-5
	for i := range 3000 {
		atS := -0.1 + float64(i)*1e-3 + 3.3e-4
		before, _ := m.at(atS - h)
		after, _ := m.at(atS + h)
		_, speed := m.at(atS)
		if rate := (after - before) / (2 * h); math.Abs(rate-speed) > 2e-5*math.Abs(speed)+1e-6 {
			t.Fatalf("at %.5f s: speed %.8f turns/s, the angle's rate is %.8f", atS, speed, rate)
		}
	}
}

// Ripple is (mean − slowest) ÷ mean, and leaves the mean alone, for any number
// of cylinders and up to a near standstill.
func TestRippleIsMeanMinusSlowest(t *testing.T) {
	for _, cylinders := range []int{1, 3, 4, 6, 8, 12} {
		for _, share := range []float64{0.1, 0.4, 0.95} {
			m := newMotion(Steady(200), Ripple{Share: share, AtRPM: 250, Cylinders: cylinders})
			compressionS := 120.0 / 200 / float64(cylinders)
			slowest := math.Inf(1)
			for i := range 2000 {
				_, speed := m.at(float64(i) / 2000 * compressionS)
				slowest = min(slowest, 60*speed)
			}
			turns, _ := m.at(7 * compressionS)
			if mean := turns / (7 * compressionS) * 60; math.Abs(mean-200) > 1e-9 {
				t.Errorf("%d cylinders, ripple %g: mean %.9f rpm, want 200", cylinders, share, mean)
			}
			if got := (200 - slowest) / 200; math.Abs(got-share) > 1e-5 {
				t.Errorf("%d cylinders, ripple %g: found %.6f", cylinders, share, got)
			}
		}
	}
}

func TestRippleFallsWithSpeed(t *testing.T) {
	r := Ripple{Share: 0.4, AtRPM: 200, Cylinders: 4}
	for rpm, want := range map[float64]float64{0: 0.4, 200: 0.4, 800: 0.05, 5000: 0.0032} {
		if got := r.At(rpm); math.Abs(got-want) > 1e-12 {
			t.Errorf("ripple at %g rpm is %g, want %g", rpm, got, want)
		}
	}
}
