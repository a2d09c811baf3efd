package report

import (
	"math"

	"armcurve/captures"
	"armcurve/captures/teeth"
)

// Recording gathers, while a wave is measured, what its pictures show, in a
// fixed amount of memory. It is a teeth.Watcher.
type Recording struct {
	info     captures.WaveInfo
	extremes *Extremes
	loudest  loudest
	speed    trail
	film     film

	count         int
	told          bool    // the tooth before tells a speed
	peakV         float64 // mean of the latest teeth
	turned        Point   // the speed there
	sumV, turnV   float64 // of the turn under way, and the mean tooth of the one before
	teethMeasured int
	usual         Excerpt // teeth about number 1
	lowest, lost  excerptAt
}

// excerptAt is an excerpt and what is in its middle.
type excerptAt struct {
	Excerpt
	teeth.Passage
	Share float64 // of the mean tooth of the turn before
}

// NewRecording returns one of the wave that info tells of.
func NewRecording(info captures.WaveInfo) *Recording {
	return &Recording{
		info: info, extremes: NewExtremes(), film: film{startS: info.StartS, stepS: info.StepS},
		lowest: excerptAt{Share: math.Inf(1)},
	}
}

// Of is the source, recorded as it is read; negative turns its first channel
// round.
func (r *Recording) Of(source captures.Source, negative bool) captures.Source {
	r.loudest = loudest{startS: r.info.StartS, stepS: r.info.StepS, highest: math.Inf(-1)}
	return &recorded{Source: source, recording: r, negative: negative}
}

type recorded struct {
	captures.Source
	recording *Recording
	negative  bool
	turned    []float64
}

func (s *recorded) Next(b *captures.Block) error {
	err := s.Source.Next(b)
	if len(b.V) == 0 {
		return err
	}
	v := b.V[0]
	if s.negative {
		s.turned = s.turned[:0]
		for _, x := range v {
			s.turned = append(s.turned, -x)
		}
		v = s.turned
	}
	s.recording.extremes.Add(v)
	s.recording.loudest.add(b.First, v)
	return err
}

// Wave is that of a teeth.Watcher.
func (r *Recording) Wave(first int64, v []float64) { r.film.wave(first, v) }

// Tooth is that of a teeth.Watcher.
func (r *Recording) Tooth(p teeth.Passage) {
	r.count++
	r.film.pass(frame{at: p.At, number: p.Number, restV: p.RestV, seen: p.Seen, thresholdV: math.NaN()})
	r.turning(p)
	if r.count >= usualAfter && r.usual.Wave == nil && len(r.film.orders) == 0 && p.Number <= 1 {
		r.film.order(&r.usual, p.At)
	}
	if !p.Seen {
		if r.lost.Number == 0 {
			r.lost.Passage = p
			r.film.order(&r.lost.Excerpt, p.At)
		}
		r.turnV, r.sumV, r.teethMeasured = 0, 0, 0
		return
	}
	r.weigh(p)
}

// A speed is not that of the engine where it differs too much from one tooth to
// the next, or where a tooth hardly rises: beside lost ones intervals tell little.
const (
	steady    = 1.25
	hardlyAny = 0.25 // of the latest teeth's mean
	latest    = 32   // teeth
)

// turning takes the speed at the tooth before, if it and this one tell it.
func (r *Recording) turning(p teeth.Passage) {
	tells := p.Seen && !(p.PeakV < hardlyAny*r.peakV)
	before := r.turned
	if tells && r.told && p.RPM < steady*before.Y && before.Y < steady*p.RPM {
		r.speed.add(before)
	}
	r.told, r.turned = tells, Point{p.TimeS, p.RPM}
	if tells && p.PeakV == p.PeakV {
		r.peakV += (p.PeakV - r.peakV) / latest
	}
}

// usualAfter is the number of teeth after which one is as any other.
const usualAfter = 40

// weigh looks for the tooth that is lowest against the turn before.
func (r *Recording) weigh(p teeth.Passage) {
	if p.Number == 1 {
		r.turnV = 0
		if r.teethMeasured > 0 {
			r.turnV = r.sumV / float64(r.teethMeasured)
		}
		r.sumV, r.teethMeasured = 0, 0
	}
	if p.Number == 0 || p.PeakV != p.PeakV {
		return
	}
	r.sumV += p.PeakV
	r.teethMeasured++
	if share := p.PeakV / r.turnV; r.turnV > 0 && share < r.lowest.Share {
		r.lowest.Passage, r.lowest.Share = p, share
		r.film.order(&r.lowest.Excerpt, p.At)
	}
}

// loudest is the surroundings of the highest sample, for a wave without teeth.
type loudest struct {
	startS, stepS float64
	highest       float64
	first         int64
	v             []float64
}

// loudestLen is how many samples of it are shown.
const loudestLen = 1000

func (l *loudest) add(first int64, v []float64) {
	at := -1
	for i, x := range v {
		if x > l.highest && !math.IsInf(x, 0) {
			l.highest, at = x, i
		}
	}
	if at < 0 {
		return
	}
	from := max(0, min(at-loudestLen/2, len(v)-loudestLen))
	l.first = first + int64(from)
	l.v = append(l.v[:0], v[from:min(len(v), from+loudestLen)]...)
}

func (l *loudest) excerpt() Excerpt {
	f := film{startS: l.startS, stepS: l.stepS, first: l.first, v: l.v}
	c := cutting{film: &f, from: l.first, v: l.v}
	return Excerpt{Wave: thinned(c.points())}
}
