package teeth

import (
	"math"
	"slices"

	"armcurve/captures/teeth/pulses"
)

// rests follows the rest level from one waypoint to the next, each in the space beside
// a tooth: from one space to another the flux hardly changes, however near a wheel
// that runs out brings its teeth, so the voltage between them has hardly a mean but
// the rest level; and none at all over whole turns.
//
// A spark has a mean, and so has a lobe that is cut off with the wave. Where the mean
// from space to space is odd and the wave is sharper than usual there, it is left out.
type rests struct {
	passed [restMost]waypoint // a ring
	have   int
	due    int // value of have at which the usual is told anew

	area    float64 // running sum of the wave at the last waypoint
	usualV  float64 // of the means from space to space
	oddV    float64 // farther from it they are odd; infinite as long as nothing is usual
	sharp   edges   // usual
	longest float64 // interval that is none of the wheel's, but a hole in the wave
}

// waypoint is a place in the space beside a mark.
type waypoint struct {
	at    float64 // of the mark
	meanV float64 // of the wave since the waypoint before
	area  float64 // running sum of these but for the odd ones, volts times samples
}

const (
	restMost    = 1024  // marks that the rest level can be averaged over
	restUsual   = 40    // and the number where the turn is not known
	judgedEvery = 160   // marks, after a while
	alikeShare  = 0.4   // of the means is that of intervals which nothing struck
	oddTimes    = 7.5   // the reach of these: of noise, four standard deviations
	oddShare    = 0.002 // of the amplitude, that is never odd
	sharpTimes  = 1.7   // the usual edge
	leftReach   = 4     // intervals on either side
	leftMost    = 3     // of these that are odd by as much as a part of that
	leftPart    = 4     // which is one in so many
	leftShare   = 0.5   // of what is odd, that a wheel takes back by then
	leftTimes   = 2     // what is odd: less, of slow noise, is not taken back either
	holeTimes   = 1.4   // the longest interval of a turn
	sharpLook   = 4     // intervals that the usual edge is taken from
)

// begin forgets the way up to here, across which the wave has no known mean; and what
// is usual where the level is not the one that was followed.
func (r *rests) begin(isSame bool) {
	r.have, r.due, r.longest = 0, 0, math.Inf(1)
	if !isSame {
		r.oddV = math.Inf(1)
	}
}

// last is the waypoint so many before the last one.
func (r *rests) last(before int) *waypoint { return &r.passed[(r.have-1-before)%restMost] }

// pass notes the running sum of the wave in the space beside a mark.
func (r *rests) pass(w *window, at, area, amplitude float64, turn int) {
	p := waypoint{at: at}
	if r.have > 0 {
		p.meanV = (area - r.area) / (at - r.last(0).at)
	}
	r.area = area
	r.have++
	*r.last(0) = p
	if r.have > 1 {
		r.sumTo(w, 0)
		r.judgeLeft()
	}
	if r.have >= r.due {
		r.judge(w, turn, amplitude)
	}
}

// sumTo adds the wave up to a waypoint, so many before the last, to what was before;
// but what is usual in the place of something odd. The teeth on either side of a hole
// may be cut off.
func (r *rests) sumTo(w *window, before int) {
	p, from := r.last(before), r.last(before+1)
	isHole := p.at-from.at > r.longest
	if isHole {
		r.evenOut(before + 1)
	}
	p.area = from.area + p.meanV*(p.at-from.at)
	if isHole || r.isBehindHole(before) || r.isOdd(w, math.Abs(p.meanV-r.usualV), from.at, p.at) {
		r.evenOut(before)
	}
}

// judgeLeft takes what is usual in the place of the wave up to a waypoint some before the
// last, if what is odd there is not taken back near by, as all that a wheel does is: its
// flux comes from where it was. What couples in from another sensor comes back as well,
// over some teeth.
func (r *rests) judgeLeft() {
	const due = leftReach
	if r.have < 2*leftReach+2 || !r.isLeft(due) {
		return
	}
	p, from := r.last(due), r.last(due+1)
	off := r.usualV*(p.at-from.at) - (p.area - from.area) // 0 where that was taken already
	for i := due; i >= 0; i-- {
		r.last(i).area += off
	}
}

// evenOut takes what is usual in the place of the wave up to a waypoint.
func (r *rests) evenOut(before int) {
	if before+1 < r.have {
		p, from := r.last(before), r.last(before+1)
		p.area = from.area + r.usualV*(p.at-from.at)
	}
}

// isBehindHole tells that a hole ends where the wave up to a waypoint begins.
func (r *rests) isBehindHole(before int) bool {
	return before+2 < r.have && r.last(before+1).at-r.last(before+2).at > r.longest
}

// isOdd tells that a mean which is so far from the usual is none of the wheel's.
func (r *rests) isOdd(w *window, offV, from, to float64) bool {
	return offV > r.oddV && w.edgesAbout(from, to).exceed(r.sharp)
}

// isLeft tells that what is odd in the wave up to a waypoint is left over beside what is
// odd near by. Where more is than a few strikes, a slow wave runs under the teeth, or the
// level itself drifts.
func (r *rests) isLeft(before int) bool {
	off := func(before int) float64 { return math.Abs(r.last(before).meanV - r.usualV) }
	if !(off(before) > leftTimes*r.oddV) {
		return false
	}
	left, struck := 0.0, 0
	for i := before - leftReach; i <= before+leftReach; i++ {
		left += r.odd(i)
		if off(i) > off(before)/leftPart {
			struck++
		}
	}
	return struck <= leftMost && math.Abs(left) > leftShare*math.Abs(r.odd(before))
}

// odd is the area that the wave up to a waypoint has beyond what is usual.
func (r *rests) odd(before int) float64 {
	p := r.last(before)
	return (p.meanV - r.usualV) * (p.at - r.last(before+1).at)
}

// judge tells what is usual of the last means, if they are enough.
func (r *rests) judge(w *window, turn int, amplitude float64) {
	back := r.back(turn)
	if back < turn || turn == 0 && back < restUsual {
		return
	}
	r.due = r.have + min(r.have, judgedEvery)
	means := make([]float64, back)
	for i := range means {
		means[i] = r.last(i).meanV
	}
	isFirst := math.IsInf(r.oddV, 1)
	usualV, reachV := densest(means, alikeShare)
	r.usualV, r.oddV = usualV, max(oddTimes*reachV, oddShare*amplitude)
	r.longest, r.sharp = 0, edges{math.Inf(1), math.Inf(1)}
	for i := range back {
		p, from := r.last(i), r.last(i+1)
		r.longest = max(r.longest, holeTimes*(p.at-from.at))
		if i < sharpLook {
			r.sharp = r.sharp.less(w.edgesAbout(from.at, p.at))
		}
	}
	if turn == 0 {
		r.longest = math.Inf(1) // a gap may come yet
	}
	if isFirst {
		for i := back - 1; i >= 0; i-- {
			r.sumTo(w, i)
		}
	}
}

// densest is the middle of the shortest range that holds a share of the values, and
// how far it reaches to either side.
func densest(values []float64, share float64) (middle, reach float64) {
	slices.Sort(values)
	n := int(share * float64(len(values)))
	reach = math.Inf(1)
	for i, low := range values[:len(values)-n] {
		if half := (values[i+n] - low) / 2; half < reach {
			middle, reach = low+half, half
		}
	}
	return middle, reach
}

// edges are the steepest rise and fall from sample to sample somewhere in the wave, as
// shares of the whole span there.
type edges struct{ rise, fall float64 }

// exceed tells that one of them is much steeper than others.
func (e edges) exceed(usual edges) bool {
	return e.rise > sharpTimes*usual.rise || e.fall > sharpTimes*usual.fall
}

// less takes the less steep ones.
func (e edges) less(o edges) edges { return edges{min(e.rise, o.rise), min(e.fall, o.fall)} }

// edgesAbout looks at the wave between two marks and in the spaces beside.
func (w *window) edgesAbout(from, to float64) edges {
	beside := (to - from) / 2
	return w.edges(from-beside, to+beside)
}

// edges looks at the samples between two positions.
func (w *window) edges(from, to float64) (e edges) {
	v := w.between(from, to)
	if len(v) == 0 {
		return e
	}
	for i, x := range v[1:] {
		e.rise, e.fall = max(e.rise, x-v[i]), max(e.fall, v[i]-x)
	}
	span := slices.Max(v) - slices.Min(v)
	if !(span > 0) {
		return edges{}
	}
	return edges{e.rise / span, e.fall / span}
}

// back is the number of intervals that make the level: whole turns, or some teeth
// where the turn is not known; 0 where there are too few.
func (r *rests) back(turn int) int {
	back := restUsual
	if turn > 0 && turn < restMost {
		back = max(1, restUsual/turn) * turn
	}
	if back = min(back, r.have-1); turn > 0 && back > turn {
		back -= back % turn
	}
	if back < min(4, turn) {
		return 0
	}
	return max(back, 0)
}

// level is the rest level of late.
func (r *rests) level(turn int) (levelV float64, ok bool) { return r.between(r.back(turn), 0) }

// between is the rest level from one of the last waypoints to another.
func (r *rests) between(from, to int) (levelV float64, ok bool) {
	if from <= to {
		return 0, false
	}
	then, now := r.last(from), r.last(to)
	if !(now.at > then.at) {
		return 0, false
	}
	return (now.area - then.area) / (now.at - then.at), true
}

// settle gives marks the rest level of whole turns, now that it is known what a turn
// is: what they had is that of some teeth, or of the wave before the first.
func (s *surveyor) settle(w *window, marks []pulses.Mark, turn int) {
	r := &s.rests
	back := r.back(turn)
	if back < turn {
		return
	}
	again := *s
	again.lead = 0
	before := min(r.have, restMost) - 1 // the waypoint of a mark, or the last one before it
	for i := range marks {
		m := &marks[i]
		for before > 0 && r.last(before-1).at <= m.At {
			before--
		}
		first := min(before+back, min(r.have, restMost)-1)
		if levelV, ok := r.between(first, first-back); ok {
			again.restV = levelV + w.base
			again.lift(w, m)
		}
	}
}

// lift measures a mark from another rest level, if that tells. Where that moves the fall
// far, the wave does not fall there as at a tooth: it is cut off, perhaps.
func (s *surveyor) lift(w *window, m *pulses.Mark) {
	const least, far = 0.001, 0.1 // of the amplitude, and of the width
	if math.Abs(s.restV-m.RestV) < least*m.Flux/(1.4*m.Width) {
		return
	}
	m.PeakV += m.RestV - s.restV
	m.RestV = s.restV
	if at := s.fall(w, pulse{at: m.At, width: m.Width, flux: m.Flux}); math.Abs(at-m.At) < far*m.Width {
		m.At = at
	}
}
