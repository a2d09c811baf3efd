package noise

import "armcurve/captures"

// Level is the noise as it is judged from the residuals.
type Level struct {
	SigmaV   float64 // standard deviation without spikes
	LargestV float64 // on the arming side, spikes apart
	spikeV   float64 // largest of them; 0 none
	oddV     float64 // the same, or what teeth leave that differ
	rises    float64 // upward crossings of zero per sample
	samples  int64   // that it rests on
}

// AddSpark takes a spark that comes again in every turn. Where teeth are compared it may
// be seen the higher, as broad ones are drawn into the course about which they rise.
func (h *Level) AddSpark(sparkV float64) {
	const drawn = 2 // times as low, at most
	h.spikeV = max(h.spikeV, sparkV, min(h.oddV, drawn*sparkV))
}

// State states the noise in a reading.
func (h *Level) State(r *captures.Reading, stepS float64) {
	r.NoiseRMSV = captures.Finite(Audible(h.SigmaV))
	r.NoiseV = captures.Finite(Audible(h.LargestV))
	r.NoiseRateHz = captures.Finite(h.rises / stepS)
	r.NoiseRecordS = captures.Some(float64(h.samples) * stepS)
	r.SpikeV = captures.Finite(max(h.spikeV, 0)) // 0: looked for, and there is none
}

// Audible is a voltage of noise or of what is in a gap, or 0 where it is so low that it is but the rounding
// of calculated samples.
func Audible(v float64) float64 {
	const leastV = 1e-8
	if v < leastV {
		return 0
	}
	return v
}
