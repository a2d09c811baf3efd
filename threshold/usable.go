package threshold

import (
	"fmt"

	"armcurve/captures"
)

// ReadingError says that a reading holds a number that nothing can be made of.
type ReadingError struct {
	Pos   captures.Pos
	Field string // the column's name
	Found float64
}

func (e *ReadingError) Error() string {
	return fmt.Sprintf("%s: column %q: found %v; want 0, or a number from %s", e.Pos, e.Field, e.Found, usableRange(e.Field))
}

const (
	// leastUsable and mostUsable lie far beyond any volts, hertz or seconds of a
	// sensor, and far from where products of such numbers leave the range of
	// floating point.
	leastUsable, mostUsable = 1e-9, 1e9
	// leastRPM and mostRPM are the engine speeds reckoned with.
	leastRPM, mostRPM = 1, 30000
)

func usableRange(field string) string {
	if field == "rpm" {
		return fmt.Sprintf("%d to %d", leastRPM, mostRPM)
	}
	return fmt.Sprintf("%g to %g", leastUsable, mostUsable)
}

// usable tells the first number of a reading that cannot be reckoned with.
func usable(r captures.Reading) error {
	if !(r.RPM == 0 || r.RPM >= leastRPM && r.RPM <= mostRPM) {
		return &ReadingError{r.Pos, "rpm", r.RPM}
	}
	for _, f := range []struct {
		name  string
		value captures.Maybe
	}{
		{"peak_v", r.PeakV}, {"weakest_v", r.WeakestV}, {"peak_sd_v", r.PeakSDV},
		{"noise_v", r.NoiseV}, {"noise_rms_v", r.NoiseRMSV}, {"noise_rate_hz", r.NoiseRateHz}, {"tone_v", r.ToneV},
		{"spike_v", r.SpikeV}, {"hump_v", r.HumpV}, {"ripple", r.Ripple}, {"peak_rpm", r.PeakRPM},
	} {
		if v := f.value.Value; f.value.Known && !(v == 0 || v >= leastUsable && v <= mostUsable) {
			return &ReadingError{r.Pos, f.name, v}
		}
	}
	return nil
}
