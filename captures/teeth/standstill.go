package teeth

import (
	"math"
	"slices"

	"armcurve/captures"
	"armcurve/captures/teeth/noise"
	"armcurve/captures/teeth/pulses"
)

// onlyNoise takes the window as noise about its slowly followed mean.
func (r *run) onlyNoise() {
	r.still = r.takeNoise(r.w.v, r.still)
	r.w.first += int64(len(r.w.v))
	r.w.v = r.w.v[:0]
}

// takeNoise adds samples to the noise with the engine stopped, and to the first
// ones of it, which it changes.
func (r *run) takeNoise(v, still []float64) []float64 {
	sum := 0.0
	for _, x := range v {
		sum += x
	}
	mean := sum / float64(len(v))
	if r.noise.Count() == 0 {
		r.restV = mean
	}
	r.restV += 0.1 * (mean - r.restV)
	for i := range v {
		v[i] -= r.restV
	}
	r.noise.Add(v)
	return append(still, v[:min(len(v), noise.MostSplit-len(still))]...)
}

// Before the first tooth.
const (
	leastStillS = 0.1 // of noise that tells how the engine stood
	stillShare  = 0.7 // of the time up to it, the rest being the engine's first moving
)

// standsBefore takes what comes before the first tooth as noise.
func (r *run) standsBefore(m pulses.Mark) {
	from := max(r.w.first, 0)
	r.stood = m.At - float64(from)
	n := int(stillShare * (r.stood - 4*m.Width))
	if float64(n)*r.info.StepS < leastStillS {
		return
	}
	start := int(from - r.w.first)
	for piece := range slices.Chunk(slices.Clone(r.w.v[start:start+n]), pieceLen) {
		r.still = r.takeNoise(piece, r.still)
	}
}

// standstill makes the reading of a capture in which all is noise.
func (r *run) standstill() {
	m := &r.m
	m.Signal, m.SignalWhy = Unknown, "the whole capture was taken as noise"
	m.Polarity, m.PolarityWhy = Unknown, m.SignalWhy
	m.Readings = r.stillReading()
}

// stoodBefore is the noise of an engine that stood until it was cranked; none
// where it turned faster when its first teeth were seen, as after a loose
// contact, or where a turn takes as long.
func (r *run) stoodBefore() []captures.Reading {
	turn := r.gatherer.turnRPM / r.gatherer.firstRPM // samples
	if !(r.gatherer.firstRPM <= 1.5*r.options.CrankingRPM && r.stood > 1.5*turn) {
		return nil
	}
	return r.stillReading()
}

// stillReading is the reading of the noise with the engine stopped, if there is
// enough of it.
func (r *run) stillReading() []captures.Reading {
	reading := captures.Reading{Pos: captures.Pos{File: r.info.File, AtS: captures.Some(r.info.StartS)}, Sensor: r.options.Sensor}
	if h, ok := r.noise.Level(); ok {
		h.State(&reading, r.info.StepS)
	}
	// A flat wave's only tones are those of rounding.
	if s, ok := noise.SplitTones(r.still, r.info.StepS); ok && r.w.top > r.w.bottom && s.ToneV > 0 && reading.NoiseRMSV.Known {
		reading.ToneV = captures.Finite(s.ToneV)
		reading.NoiseRMSV = reading.NoiseRMSV.Times(math.Sqrt(s.Share))
		reading.NoiseRateHz = captures.Finite(s.RateHz)
		reading.NoiseV = captures.Finite(max(0, reading.NoiseV.Value-s.ToneV))
	}
	if !reading.HasNoise() {
		return nil
	}
	return []captures.Reading{reading}
}
