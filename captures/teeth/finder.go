package teeth

import (
	"math"

	"armcurve/captures/teeth/wheels"
)

// pulse is a place where the wave swings from its arming side to the other, as
// wide as a tooth makes it.
type pulse struct {
	at    float64 // position, to a fraction of the width
	width float64 // of the filter that fits it best, samples; smoothed
	own   float64 // the same for this pulse alone
	flux  float64 // filter's output: volts times samples, independent of speed
	swing float64 // the same of a filter as wide as this pulse, where that is much wider
	isNew bool    // first after the wave was lost
}

// finder finds pulses by a matched filter: the area of the wave over one width
// before less that over one width behind. This is a flux, twice the change
// that a tooth brings about, and as such the same at any speed: an amplitude
// that varies by 40 within a pull, or a tooth that nearly stops, look alike.
// The width follows the wave from pulse to pulse.
type finder struct {
	sign    float64 // −1 looks for swings the other way round
	share   float64 // of the recent flux that makes a pulse
	next    int64   // position to go on from
	last    float64 // position of the last pulse
	width   float64
	flux    float64 // of recent pulses
	longest float64 // recent longest interval, in pitches as the width tells
	best    float64 // highest output of the pulse under way
	bestAt  int64
	fresh   bool
	found   int     // pulses
	asLong  bool    // the filter does not widen
	strayed float64 // pulses in a row that were wider than the width followed; negative: narrower
}

const (
	toothShare  = 0.3  // of the recent flux makes a tooth
	swingShare  = 0.22 // makes a swing that polarity is judged by: those in a gap are weak
	fluxGain    = 0.15 // of the recent flux is the last pulse's
	guard       = 0.9  // widths after a pulse in which there cannot be another
	settle      = 1.3  // widths after a pulse at which it is judged
	scaleRatio  = 1.25 // between the widths that are compared
	stronger    = 1.3  // times as strong
	widened     = 1.5  // times as wide
	farBetter   = 2    // times the power over that of white noise
	narrowest   = 8    // samples, of a width that is halved
	soonShare   = 0.5  // of the recent flux, at least, has a pulse that comes sooner
	weakShare   = 0.7  // of the recent flux makes a pulse that may be a part of several
	settledIn   = 8    // pulses before which the width may be far off
	strays      = 0.9  // of the widths compared, from which a pulse is wider or narrower than what is followed
	longestWait = 40   // pitches, of an interval that is waited for
	manyStrays  = 3    // pulses in a row that tell that the speed changes fast
)

func (f *finder) begin(s scale, at int64) {
	*f = finder{sign: f.sign, share: f.share, next: at, last: float64(at), width: s.width, flux: s.flux, longest: 1, fresh: true}
}

// waitFor is told an interval that pulses may come in.
func (f *finder) waitFor(interval float64) {
	f.longest = max(f.longest, min(interval/(f.width*wheels.PitchPerWidth), longestWait))
}

// waiting is how long the filter has seen no pulse, in pitches.
func (f *finder) waiting() float64 {
	return (float64(f.next) - f.last) / (f.width * wheels.PitchPerWidth)
}

// lost tells that there is no wave any more of the kind that was followed.
func (f *finder) lost() bool { return f.waiting() > 12+4*f.longest }

// reach is the filter's width now, in samples: after a long wait the wheel may
// have slowed down, so it widens.
func (f *finder) reach() int {
	width := f.width
	if patience := 1.8 + 1.25*(f.longest-1); f.waiting() > patience && !f.asLong {
		width *= min(f.waiting()/patience, 3)
	}
	return max(1, int(width+0.5))
}

// goOn finds the next pulse, and looks again where that is odd; false where more of
// the wave is needed.
func (f *finder) goOn(w *window) (p pulse, ok bool) {
	before := *f
	if p, ok = f.find(w); ok {
		p = f.sooner(&before, w, f.again(&before, w, p))
	}
	return p, ok
}

// find goes on to the next pulse; false where more of the wave is needed.
func (f *finder) find(w *window) (pulse, bool) {
	for !f.lost() {
		k := f.reach()
		i := int(f.next - w.first)
		run := max(16, k/2)
		if i < k {
			i = k
		}
		need := i + run + int(scaleRatio*settle*float64(k)) + k + 4
		if need > len(w.v) {
			return pulse{}, false
		}
		w.sumTo(need)
		if f.scan(w, i, i+run, k) {
			return f.judge(w), true
		}
	}
	return pulse{}, false
}

// scan looks at the positions of one run; true when a pulse is complete.
func (f *finder) scan(w *window, from, to, k int) bool {
	step := max(1, k/10)
	due, near := int(settle*float64(k)), int(guard*float64(k))+1
	best, bestAt := f.best, int(f.bestAt-w.first)
	bar, end := max(best, f.share*f.flux), math.MaxInt
	if best > 0 {
		end = bestAt + due
	}
	s, i := w.sum, from
	for i < to {
		out := f.sign * (2*s[i] - s[i-k] - s[i+k])
		if out > bar && (best == 0 || i-bestAt < near) {
			best, bestAt, bar, end = out, i, out, i+due
		}
		i += step
		if i-step >= end {
			break
		}
	}
	f.best, f.bestAt, f.next = best, w.first+int64(bestAt), w.first+int64(i)
	return i-step >= end
}

// judge closes the pulse under way: its own width, and what follows from it
// for the next.
func (f *finder) judge(w *window) pulse {
	at := float64(f.bestAt) - 0.5
	own, isChanging := f.ownWidth(w, at)
	flux := f.best
	p := pulse{at: at, own: own, flux: flux, swing: f.swing(w, at, own, flux), isNew: f.fresh}

	interval := (at - f.last) / (f.width * wheels.PitchPerWidth)
	if !f.fresh {
		f.longest = max(min(interval, longestWait), 1+(f.longest-1)*0.995)
	}
	gain := 0.4
	if f.found++; f.found < settledIn || isChanging {
		gain = 0.8
	}
	f.width = max(1, f.width*(1+gain*(own-f.width)/((own+f.width)/2)))
	if f.flux += fluxGain * (min(flux, 2*f.flux) - f.flux); flux > 3*f.flux {
		// What was followed so far was no tooth, or limited as a spike is.
		f.flux = min(flux, 4*f.flux) / 2
	}
	f.last, f.fresh, f.best = at, false, 0
	f.next = f.bestAt + int64(guard*f.width) + 1
	p.width = f.width
	return p
}

// sooner looks again, from before a pulse that is weak, or much narrower than those
// before, with half the width: where the wave has become much faster, one as strong as
// usual comes sooner, or it shows itself that strong.
func (f *finder) sooner(before *finder, w *window, p pulse) pulse {
	isAsBefore := p.flux > weakShare*before.flux && scaleRatio*p.own > before.width
	if p.isNew || isAsBefore || before.width < narrowest {
		return p
	}
	other := *before
	other.width /= 2
	other.share = soonShare // or it finds what is left of the pulse before
	other.next, other.best, other.strayed = max(int64(other.last+guard*other.width)+1, w.first), 0, 0
	q := f.instead(&other, w, p, func(q pulse) bool {
		return q.at <= p.at+other.width && q.flux >= max(stronger*p.flux, soonShare*before.flux)
	})
	f.share = before.share
	return q
}

// again looks again with the width that was followed, where it had widened: behind a gap
// the wheel may turn as fast as before it, or faster.
func (f *finder) again(before *finder, w *window, p pulse) pulse {
	if p.own < widened*before.width {
		return p
	}
	other := *before
	other.asLong = true
	q := f.instead(&other, w, p, func(q pulse) bool {
		return q.at <= p.at+p.own && q.flux*q.flux*p.own >= farBetter*p.flux*p.flux*q.own
	})
	f.asLong = false
	return q
}

// instead goes on with another finder, if the pulse that it finds is the better one.
func (f *finder) instead(other *finder, w *window, p pulse, isBetter func(pulse) bool) pulse {
	q, ok := other.find(w)
	if !ok || !isBetter(q) {
		return p
	}
	*f = *other
	return q
}

// ownWidth is the width that fits a pulse best: near the one that is expected,
// farther off where the speed changes fast, or anywhere at first, as an engine that
// begins to turn speeds up by half from one tooth to the next.
func (f *finder) ownWidth(w *window, at float64) (own float64, isChanging bool) {
	k := float64(f.reach())
	best := f.fit(w, at, k)
	if math.Abs(best) < strays || best*f.strayed < 0 {
		f.strayed = 0
	}
	if math.Abs(best) >= strays {
		f.strayed += math.Copysign(1, best)
	}
	// A filter that is too narrow for its pulse gives less than usual.
	isChanging = f.strayed <= -manyStrays || f.strayed >= manyStrays && f.best < f.flux
	steps := 0
	switch {
	case f.found < settledIn && f.best >= 0.6*f.flux:
		steps = 3
	case isChanging:
		steps = 1
	}
	for ; steps > 0 && math.Abs(best) == 1 && k >= 4; steps-- {
		k *= math.Pow(scaleRatio, best)
		best = f.fit(w, at, k)
	}
	return k * (1 + (scaleRatio-1/scaleRatio)/2*best), isChanging
}

// swing is what a filter as wide as a pulse gives of it, which the one that is followed
// does not reach where the wheel slows down at once: there it gives less than a tooth.
func (f *finder) swing(w *window, at, own, flux float64) float64 {
	const most, wider = 2, 1.2 // times as wide
	k := float64(f.reach())
	if own < wider*k {
		return flux
	}
	end := min(most*k, (w.summedTo()-at)/scaleRatio)
	for k *= scaleRatio; k*scaleRatio <= end && f.fit(w, at, k) == 1; {
		k *= scaleRatio
	}
	return max(flux, f.sign*(2*w.area(at)-w.area(at-k)-w.area(at+k)))
}

// rootRatio is the square root of scaleRatio.
var rootRatio = math.Sqrt(scaleRatio)

// fit compares three widths at a pulse by how well their output stands out of
// white noise, which is their output over the square root of the width; where
// the best one is, from −1 at the narrowest to 1 at the widest.
func (f *finder) fit(w *window, at, k float64) float64 {
	twice := 2 * w.area(at)
	output := func(width float64) float64 {
		return f.sign * (twice - w.area(at-width) - w.area(at+width))
	}
	a, b, c := output(k/scaleRatio)*rootRatio, output(k), output(k*scaleRatio)/rootRatio
	bend := a - 2*b + c
	if bend >= 0 {
		if c > a {
			return 1
		}
		return -1
	}
	return max(-1, min(1, (a-c)/(2*bend)))
}
