package threshold

import (
	"math"
	"testing"

	"armcurve/captures"
)

// A sensor of so many volts per rpm on an engine whose speed swings as 1 + r·cos
// of its angle: the mean of the peaks over angle, put at the mean speed over time,
// is that of an even engine.
func TestSteadyPeak(t *testing.T) {
	const perRPM, meanOverAngle, n = 0.005, 220.0, 100000
	for _, ripple := range []float64{0, 0.1, 0.3, 0.5} {
		volts, time := 0.0, 0.0
		for i := range n {
			rpm := meanOverAngle * (1 + ripple*math.Cos(2*math.Pi*float64(i)/n))
			volts += perRPM * rpm / n
			time += 1 / rpm / n
		}
		r := captures.Reading{RPM: 1 / time, PeakV: captures.Some(volts), Ripple: captures.Some(ripple)}
		if got, want := steadyPeakV(r), perRPM*r.RPM; math.Abs(got/want-1) > 1e-6 {
			t.Errorf("ripple %g: %g V at %g rpm, want %g V", ripple, got, r.RPM, want)
		}
	}
}
