package csvfile

import (
	"armcurve/captures"
)

// SamplesOptions says how to read a recording. The zero value reads everything
// from the file, and fails where the file leaves a choice.
type SamplesOptions struct {
	Dialect // also '|' and ' ', which stands for any number of spaces
	// Channels are the columns wanted, by name in any case or by number,
	// counted from 1 without columns of time; none where there is only one.
	Channels []string
	// TimeUnit is "s", "ms", "us" or "ns", VoltsUnit "V", "mV", "uV" or "kV";
	// "" is read from the file. A VoltsUnit also says that the numbers are as
	// measured, before VoltsTimes.
	TimeUnit, VoltsUnit string
	// SampleIntervalS is the time from sample to sample in seconds. A column
	// of time is then not looked at.
	SampleIntervalS captures.Maybe
	// VoltsTimes multiplies every sample, 10 for a ×10 probe on a channel left
	// at ×1; 0 is 1.
	VoltsTimes float64
	Invert     bool // the leads were swapped
}

// times is the factor of every sample.
func (o SamplesOptions) times() float64 {
	factor := o.VoltsTimes
	if factor == 0 {
		factor = 1
	}
	if o.Invert {
		return -factor
	}
	return factor
}
