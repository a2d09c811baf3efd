package report

import (
	"math"

	"armcurve/captures"
	"armcurve/threshold/replay"
)

// Playback gathers, while a wave is replayed, the surroundings of its faults,
// in a fixed amount of memory. It is a replay.Viewer.
type Playback struct {
	film     film
	examples map[int]*exampleAt
	tooth    closest // the tooth that is least above its threshold
	other    closest // what is no tooth and is least under it
}

type exampleAt struct {
	Excerpt
	replay.Event
}

// closest is the least ratio met, and where.
type closest struct {
	Excerpt
	replay.Judgement
	Ratio float64
}

// NewPlayback returns one of the wave that info tells of.
func NewPlayback(info captures.WaveInfo) *Playback {
	return &Playback{
		film:     film{startS: info.StartS, stepS: info.StepS},
		examples: map[int]*exampleAt{}, tooth: closest{Ratio: math.Inf(1)}, other: closest{Ratio: math.Inf(1)},
	}
}

// Wave is that of a replay.Viewer.
func (p *Playback) Wave(first int64, v []float64) { p.film.wave(first, v) }

// Judged is that of a replay.Viewer.
func (p *Playback) Judged(j *replay.Judgement) {
	x := frame{at: j.At, number: j.Number, seen: j.Seen, missed: !j.Counted, thresholdV: j.ThresholdV}
	for _, e := range j.Events {
		x.instants = append(x.instants, instant{armedAt: e.ArmedAt, at: e.At, thresholdV: e.ThresholdV, afterV: e.AfterV, isFalse: e.False})
	}
	p.film.pass(x)
	for _, e := range j.Examples {
		kept := &exampleAt{Event: e.Event}
		p.examples[e.Number] = kept
		p.film.order(&kept.Excerpt, e.At)
	}
	if !j.Judged || !j.Seen || math.IsInf(j.ThresholdV, 0) {
		return
	}
	p.near(&p.tooth, j, j.HeightV/j.ThresholdV)
	p.near(&p.other, j, j.ThresholdV/j.OtherV)
}

func (p *Playback) near(c *closest, j *replay.Judgement, ratio float64) {
	if !(ratio < c.Ratio) {
		return
	}
	c.Ratio, c.Judgement = ratio, *j
	c.Events, c.Examples = nil, nil // only lent
	p.film.order(&c.Excerpt, j.At)
}
