package teeth

import (
	"math"

	"armcurve/captures/teeth/pulses"
	"armcurve/captures/teeth/wheels"
)

// placer tells where teeth were by the even turning of the wheel, where noise is so
// strong that it does better than the wave about each tooth: a wheel has inertia, and
// what moves the place of one tooth but not those of its neighbours is noise, or the
// tooth's own way of sitting on the wheel, which comes again in each turn.
//
// A parabola of time over angle, through the teeth about one, foretells its place. Over
// how many of them is decided by how well it does so: many quieten noise most, few follow
// an engine that turns unevenly.
type placer struct {
	pattern *wheels.Pattern
	turnRPM float64 // rpm of the engine for one turn of the wheel per sample
	ahead   int     // teeth behind the one foretold that are waited for
	isEager bool    // unless noise moves none
	out     func(*placed)
	given   placed   // the one that was given out last
	run     []placed // that follow each other without a break
	next    int      // index of the first that is not given out
	reaches []reach  // none where too few teeth make a turn
	leads   []slotGain
	lead    slotGain // of falls, pitches behind the balance: of all teeth, and by slot
	wobble  wobble
	lowered slotGain // of peaks looked for elsewhere, as crests tell
}

// placed is a tooth with its place on the wheel.
type placed struct {
	Passage
	slot    int
	balance float64 // position
	noise   float64 // about its fall, as a share of the amplitude
	crest   pulses.PeakCurve
	tooth   toothAt
	fresh   bool    // the count begins anew here
	angle   float64 // turns since the run began
	moved   float64 // samples by which its peak was found to be elsewhere
	place   float64 // position of its balance, as found by others too
	doubt   float64 // variance of that, pitches squared
	turn    float64 // samples in a turn at its speed; 0 where others were not asked
}

// reach is how well a parabola over so many teeth on either side foretells.
type reach struct {
	teeth   int
	offsets []slotGain // by slot: how far the tooth is from what the others foretell, pitches
	missed  slotGain   // square of that, the offsets apart
}

const (
	shortestReach = 4
	longestReach  = 64
	fewestPlaced  = 8      // teeth in a turn that show how evenly it turns
	missedOver    = 256    // teeth that noise, and how well is foretold, is learnt over
	offsetOver    = 64     // turns that a tooth's offset is learnt over
	roughMoves    = 0.0015 // pitches by which noise moves teeth, from which it moves peaks by some percent
	roughShare    = 0.05   // and of a tooth's height
	strongNoise   = 0.01   // pitches, from which noise moves teeth farther than wheels are off
	loweredMost   = 0.001  // of their height, by which noise in their places may lower peaks
)

func newPlacer(p *wheels.Pattern, turnRPM float64, ahead int, isEager bool, out func(*placed)) placer {
	s := placer{pattern: p, turnRPM: turnRPM, ahead: ahead, isEager: isEager, out: out}
	if p == nil || p.Wheel.Pitches == 0 || len(p.Parts) < fewestPlaced {
		return s
	}
	n := len(p.Parts)
	s.leads = make([]slotGain, n)
	for teeth := shortestReach; teeth <= min(n, longestReach); teeth *= 2 {
		s.reaches = append(s.reaches, reach{teeth: teeth, offsets: make([]slotGain, n)})
	}
	return s
}

// add takes the next tooth.
func (s *placer) add(p *placed) {
	if len(s.reaches) == 0 || p.slot < 0 {
		s.end()
		s.out(p)
		return
	}
	if last := len(s.run) - 1; last >= 0 {
		if p.fresh || !(p.At > s.run[last].At) {
			s.end()
		} else {
			p.angle = s.run[last].angle + s.pattern.Parts[s.run[last].slot]
		}
	}
	s.run = append(s.run, *p)
	s.followWobble()
	for delay := s.delay(); len(s.run)-s.next > delay; {
		s.give()
	}
	longest := s.reaches[len(s.reaches)-1].teeth
	if drop := len(s.run) - 2*longest - 1; drop > 2*longest {
		s.run = s.run[:copy(s.run, s.run[drop:])]
		s.next -= drop
	}
}

// delay is the number of teeth that have to follow one.
func (s *placer) delay() int {
	if s.isEager && !s.asksOthers() {
		return 0
	}
	return min(s.ahead, s.reaches[len(s.reaches)-1].teeth)
}

// isNoisy tells that noise moves teeth far, isLowered that it does so with peaks that are
// as narrow as to be read low for it.
func (s *placer) isNoisy() bool   { return s.wobble.noise() > strongNoise*strongNoise }
func (s *placer) isLowered() bool { return s.wobble.noise()*s.lowered.mean > loweredMost }

// isRough tells that noise moves peaks, as it moves teeth or as it is about their falls.
// Where that is as large as can be it is not known.
func (s *placer) isRough() bool {
	about := s.wobble.most.mean / (movedMostBy * movedMostBy)
	return s.wobble.noise() > roughMoves*roughMoves || about > roughShare*roughShare && about < 0.9
}

// asksOthers tells that a tooth is measured by others too.
func (s *placer) asksOthers() bool { return s.isRough() || s.isNoisy() || s.isLowered() }

// end gives out what waits.
func (s *placer) end() {
	for s.next < len(s.run) {
		s.give()
	}
	s.run, s.next = s.run[:0], 0
	s.wobble.known = false
}

// give gives out the next tooth.
func (s *placer) give() {
	s.given = s.run[s.next]
	if s.asksOthers() {
		s.place(&s.given)
	}
	s.next++
	s.out(&s.given)
}

// place corrects a tooth's place and speed, and its peak.
func (s *placer) place(p *placed) {
	best, told := s.foretell(p)
	if best == nil {
		return
	}
	at := told.at + best.offset(p.slot)*told.pitch
	if p.Seen {
		// Both have noise of their own.
		share := min(1, s.wobble.noise()/best.missed.mean)
		off := share * (at - p.balance)
		unit := float64(p.crest.Unit)
		unit += share * (told.turn/float64(s.pattern.Wheel.Pitches) - unit)
		if s.isNoisy() || s.isLowered() {
			p.level(p.crest.Shift(off, unit))
		}
		s.learnLead(p.slot, (p.At-p.balance)/told.pitch)
		at = p.balance + off
		p.place, p.doubt = at, s.wobble.noise()*(1-share)
		// Where the wheel turns unevenly the teeth beside tell the speed better than many.
		if p.turn = 1 / p.tooth.speed; p.turn > 0 {
			p.turn += share * (told.turn - p.turn)
		}
	}
	if !s.isNoisy() {
		return
	}
	p.At = at + s.leadOf(p.slot)*told.pitch
	if near, ok := s.through(s.next, &s.reaches[0]); ok {
		p.RPM = s.turnRPM / near.turn
	}
}

// level tells a tooth's peak anew, some samples on.
func (p *placed) level(ahead float64) {
	p.moved = ahead
	p.PeakV += p.crest.Rise(ahead)
}

// foretell is what the reach that does so best foretells of the next tooth, which all of
// them learn from; nil where too few teeth are about it.
func (s *placer) foretell(t *placed) (best *reach, told foretold) {
	for k := range s.reaches {
		r := &s.reaches[k]
		f, ok := s.through(s.next, r)
		if !ok {
			continue
		}
		if t.Seen {
			r.learn(t.slot, (t.balance-f.at)/f.pitch)
		}
		if best == nil || r.missed.mean < best.missed.mean {
			best, told = r, f
		}
	}
	return best, told
}

func (r *reach) learn(slot int, off float64) {
	missed := off - r.offset(slot)
	r.offsets[slot].learnOver(off, offsetOver)
	r.missed.learnOver(missed*missed, missedOver)
}

// offset is how far a tooth is from what others foretell, as far as that is sure.
func (r *reach) offset(slot int) float64 {
	o := &r.offsets[slot]
	return surely(o.mean, r.missed.mean/max(o.n, 1))
}

func (s *placer) learnLead(slot int, lead float64) {
	s.leads[slot].learnOver(lead, offsetOver)
	s.lead.learnOver(lead, missedOver)
}

func (s *placer) leadOf(slot int) float64 {
	l := &s.leads[slot]
	return s.lead.mean + surely(l.mean-s.lead.mean, 2*s.wobble.noise()/max(l.n, 1))
}

// surely is a mean without the part that its variance explains.
func surely(mean, variance float64) float64 {
	if !(mean*mean > variance) {
		return 0
	}
	return mean * (1 - variance/(mean*mean))
}

// foretold is what the teeth about one tell of it.
type foretold struct {
	at    float64 // position of its balance
	pitch float64 // samples
	turn  float64 // samples, at the speed there
}

// through lays the parabola through the teeth within reach of one, itself left out.
func (s *placer) through(i int, r *reach) (f foretold, ok bool) {
	t := &s.run[i]
	from, to := max(0, i-r.teeth), min(len(s.run)-1, i+min(r.teeth, s.ahead))
	pitches := float64(s.pattern.Wheel.Pitches)
	f.pitch = (s.run[to].At - s.run[from].At) / ((s.run[to].angle - s.run[from].angle) * pitches)
	scale := pitches / float64(r.teeth)
	var n, x1, x2, x3, x4, y0, y1, y2 float64
	for j := from; j <= to; j++ {
		o := &s.run[j]
		if j == i || !o.Seen {
			continue
		}
		x := (o.angle - t.angle) * scale
		y := o.balance - r.offset(o.slot)*f.pitch - t.balance
		q := x * x
		n, x1, x2, x3, x4 = n+1, x1+x, x2+q, x3+q*x, x4+q*q
		y0, y1, y2 = y0+y, y1+x*y, y2+q*y
	}
	d0, d1, d2 := x2*x4-x3*x3, x1*x4-x2*x3, x1*x3-x2*x2
	det := n*d0 - x1*d1 + x2*d2
	f.at = t.balance + (y0*d0-y1*d1+y2*d2)/det
	f.turn = (y1*(n*x4-x2*x2) - y0*d1 - y2*(n*x3-x1*x2)) / det * scale
	return f, n >= 2*shortestReach-1 && f.turn > 0
}

// wobble tells how much noise there is in the places of teeth: of their second
// differences the product of neighbours is −4 times its variance, as a tooth counts twice
// in its own and once, the other way, in those beside. What a wheel that turns unevenly
// makes is alike in neighbours, but for few teeth in a turn. So it is no more than what
// noise about single falls makes.
type wobble struct {
	product, square, most slotGain
	last                  float64
	known                 bool
}

// movedMostBy is by how much noise moves the fall of a sine, at most, in pitches: a sample's
// over the slope.
const movedMostBy = 1 / (2 * math.Pi)

// noise is the variance, pitches squared.
func (w *wobble) noise() float64 { return min(max(0, -w.product.mean/4), w.most.mean) }

// followWobble takes the second difference of the latest three teeth, a pitch apart. What
// strikes one is not taken for noise.
func (s *placer) followWobble() {
	const few, most = 20, 3
	w, n := &s.wobble, len(s.run)
	newest := &s.run[n-1]
	s.lowered.learnOver(newest.crest.Lowering(newest.PeakV), missedOver)
	if n < 3 || !s.isRow(s.run[n-3:]) {
		w.known = false
		return
	}
	a, b, c := &s.run[n-3], &s.run[n-2], &s.run[n-1]
	r := &s.reaches[0]
	d := 2*(c.balance-2*b.balance+a.balance)/(c.balance-a.balance) - (r.offset(c.slot) - 2*r.offset(b.slot) + r.offset(a.slot))
	if bound := most * math.Sqrt(w.square.mean); w.square.n > few {
		d = max(-bound, min(bound, d))
	}
	w.square.learnOver(d*d, missedOver)
	moved := movedMostBy * c.noise
	w.most.learnOver(moved*moved, missedOver)
	if w.known {
		w.product.learnOver(d*w.last, missedOver)
	}
	w.last, w.known = d, true
}

// isRow tells that three teeth were seen and stand side by side.
func (s *placer) isRow(t []placed) bool {
	return t[0].Seen && t[1].Seen && t[2].Seen && s.pattern.Regular(t[0].slot) && s.pattern.Regular(t[1].slot)
}
