package threshold

import (
	"math"
	"testing"

	"armcurve/captures"
)

// A sensor of so many volts per rpm on an engine whose energy swings as a cosine of its
// angle: the mean of the peaks over angle, put at the mean speed over time, is that of an
// even engine.
func TestSteadyPeak(t *testing.T) {
	const perRPM, n = 0.005, 100000
	for _, swing := range []float64{0, 0.2, 0.5, 0.8} {
		volts, time := 0.0, 0.0
		for i := range n {
			rpm := 220 * math.Sqrt(1+swing*math.Cos(2*math.Pi*float64(i)/n))
			volts += perRPM * rpm / n
			time += 1 / rpm / n
		}
		slowest := 220 * math.Sqrt(1-swing)
		r := captures.Reading{RPM: 1 / time, PeakV: captures.Some(volts), Ripple: captures.Some(1 - slowest*time)}
		t.Logf("ripple %.3f: %g V at %g rpm", r.Ripple.Value, steadyPeakV(r), r.RPM)
		if got, want := steadyPeakV(r), perRPM*r.RPM; math.Abs(got/want-1) > 0.015 {
			t.Errorf("ripple %g: %g V at %g rpm, want %g V", r.Ripple.Value, got, r.RPM, want)
		}
		r.PeakRPM = captures.Some(volts / perRPM)
		if got, want := steadyPeakV(r), perRPM*r.RPM; math.Abs(got/want-1) > 1e-12 {
			t.Errorf("ripple %g, with the speed at the teeth: %g V at %g rpm, want %g V", r.Ripple.Value, got, r.RPM, want)
		}
	}
}
