package teeth

import (
	"math"

	"armcurve/captures/teeth/lobes"
	"armcurve/captures/teeth/wheels"
)

// matcher tells the peaks of teeth in strong noise anew, by the mean of the wave about
// many (package lobes).
type matcher struct {
	pattern *wheels.Pattern
	mean    lobes.Mean   // of teeth amid others
	forms   []lobes.Form // by slot
	doubt   lobes.Doubt  // of those
	turn    *lobes.Sum   // of the turn under way; nil none
	scatter slotGain     // variance of heights told by themselves, about those told by the mean, relative
}

func newMatcher(p *wheels.Pattern) matcher {
	return matcher{pattern: p, forms: make([]lobes.Form, len(p.Parts))}
}

// match has a tooth's peak told anew, unless few teeth do not show how the speed goes
// between them where it ripples, which changes a lobe's form.
func (g *gatherer) match(p *placed, learns bool) {
	if g.pattern != nil && !(len(g.pattern.Parts) < fewPerTurn && g.ripple > calmRipple) {
		g.matcher.match(g.w, p, learns)
	}
}

// match tells a tooth's peak anew, if its place was told by others'; and learns from it,
// if it is one that turns are made of. The tooth after a gap has its top elsewhere.
func (s *matcher) match(w *window, p *placed, learns bool) {
	if !(p.turn > 0) || p.tooth.clipped || math.IsNaN(p.PeakV) || s.pattern.AfterGap(p.slot) {
		return
	}
	var l lobes.Lobe
	switch {
	case !w.lobe(&l, p.place, p.turn/float64(s.pattern.Wheel.Pitches), p.RestV):
	case s.mean.Tells():
		s.compare(&l, p, learns)
	case learns && s.pattern.Amid(p.slot):
		s.mean.Learn(&l, p.turn, 1, p.doubt+s.blur(p.turn))
	}
}

// compare does so once the mean of many is known.
func (s *matcher) compare(l *lobes.Lobe, p *placed, learns bool) {
	form, ownV := &s.forms[p.slot], p.PeakV
	times, isStruck, ok := s.mean.Fit(l, s.cells(p.slot), p.turn, form.Usual())
	peakV := form.TopV(&s.mean, times, p.turn)
	isNoisy := s.mean.Share(p.turn) > noisyShare
	if isNoisy {
		// What strikes a tooth need not stand out of the noise.
		p.tooth.doubt = s.scatter.mean
	}
	if isNoisy && ok && !isStruck && (s.pattern.Amid(p.slot) || form.Tells()) {
		p.PeakV = peakV
	}
	if !learns || isStruck {
		return
	}
	if isNoisy && s.pattern.Amid(p.slot) {
		s.sum(l, p)
	}
	s.scatter.learn(math.Pow(ownV/peakV-1, 2))
	form.Learn(&s.mean, l, p.turn, times, &s.doubt)
	if s.pattern.Amid(p.slot) {
		s.mean.Learn(l, p.turn, times, p.doubt+s.blur(p.turn))
	}
}

// sum takes a tooth to those of the turn under way.
func (s *matcher) sum(l *lobes.Lobe, p *placed) {
	if s.turn == nil {
		s.turn = new(lobes.Sum)
	}
	s.turn.Add(&s.mean, l, p.turn, p.PeakV)
}

// noisyShare is the noise about teeth, as a share of their height, from which that is told
// by the mean of many.
const noisyShare = 0.03

// blur is the variance, pitches squared, by which the mean over a cell blurs a wave: the
// cell's less that of a sample, between which the wave is taken for straight with the
// slope at the sample, and so for less bent.
func (s *matcher) blur(turn float64) float64 {
	pitches := float64(s.pattern.Wheel.Pitches)
	sample, cell := pitches/turn, 1.0/lobes.PerPitch
	return (cell*cell - sample*sample) / 12
}

// cells is how much of the wave about a tooth tells its height: behind the last one before
// a gap it is none of the tooth's alone.
func (s *matcher) cells(slot int) int {
	if s.pattern.Regular(slot) {
		return lobes.Cells
	}
	return lobes.Before
}

// lobe looks at the wave about a place; false where it is not there.
func (w *window) lobe(l *lobes.Lobe, place, pitch, restV float64) bool {
	size := pitch / lobes.PerPitch
	from := place - lobes.Before*size
	if !w.holds(from-2, from+lobes.Cells*size+2) {
		return false
	}
	level := w.base - restV
	before := w.area(from)
	for i := range l {
		area := w.area(from + float64(i+1)*size)
		l[i] = (area-before)/size + level
		before = area
	}
	return true
}
