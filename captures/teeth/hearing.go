package teeth

import (
	"math"
	"slices"

	"armcurve/captures/teeth/median"
)

// listen looks for noise between the teeth, if it is its turn.
func (g *gatherer) listen() {
	tooth := &g.ring[newest]
	g.listener.turnwise, g.listener.taping = g.turnwise(), !g.recorder.isOff
	isTurn := g.listener.next()
	g.listening = isTurn
	switch {
	case !tooth.seen || !isTurn && !g.turnwise(): // turns are many teeth to begin anew with
		g.streak = 0
		return
	case !g.joined(newest):
		g.streak = 0
	}
	g.streak++
	if g.pattern != nil && !g.apart {
		g.smoothen()
	}
	if g.turnwise() {
		g.learnLapse()
	}
	if isTurn {
		g.hear(tooth)
	}
}

// hear takes the noise before a tooth in every way that there is.
func (g *gatherer) hear(tooth *passage) {
	switch {
	case !g.apart && g.streak > ringLen-1-middle:
		g.between()
	case g.apart && g.streak > 1 && g.count.Revolutions > 0:
		g.learnShape(g.ring[newest-1].at, tooth.at)
		g.quiet()
	}
	if g.turnwise() && g.count.Revolutions > 0 {
		g.betweenTurns()
	}
}

// between measures noise in the middle interval of the ring, where the five
// about it are alike, and the wave's shape.
func (g *gatherer) between() {
	if !g.alike() {
		return
	}
	if g.isCut() {
		g.cut.add(g.w, g.ring[middle+2].at, g.ring[middle+3].at)
		return
	}
	var at [6]float64
	var gain [6]float64
	known := 0
	for i := range at {
		t := &g.ring[middle+i]
		at[i], gain[i] = g.timeOf(t), 1
		if g.pattern == nil || g.gains[t.slot].n == 0 {
			continue
		}
		known++
		if g.scatter.mean < gainsTell*g.gains[t.slot].n {
			gain[i] = max(g.gains[t.slot].mean, 0.05)
		}
	}
	areSomeUnknown := known > 0 && known < len(gain) // as of a tooth that the wave began amid
	if areSomeUnknown || !even(gain[1:5]) || at[1] < float64(g.w.first)+4 || at[5] > float64(g.w.end())-4 {
		return
	}
	g.learnShape(at[2], at[3])
	if g.pattern == nil || g.count.Revolutions == 0 {
		return
	}
	way := besideTeeth
	if g.ripple > calmRipple && unevenness(at[:]) > steadyPace {
		way = unsteadyBeside
	}
	stretchAt := func(i int) stretch {
		t := &g.ring[middle+i+1]
		return stretch{[4]float64(at[i : i+4]), [2]float64(gain[i+1 : i+3]), t.turned, g.pattern.parts[t.slot]}
	}
	b := neighbours{
		own:    stretchAt(1),
		others: []stretch{stretchAt(0), stretchAt(2)},
		restV:  (g.ring[middle+2].restV + g.ring[middle+3].restV) / 2,
	}
	g.listenTo(&b, way)
}

// even tells that teeth are alike: one at another gap has another shape.
func even(gain []float64) bool {
	for _, g := range gain {
		if q := g / gain[1]; q < 0.88 || q > 1.14 {
			return false
		}
	}
	return true
}

// unevenness is the most by which two intervals side by side differ, as a part of
// one.
func unevenness(at []float64) float64 {
	most := 0.0
	for i := 1; i+1 < len(at); i++ {
		most = max(most, math.Abs(1-(at[i+1]-at[i])/(at[i]-at[i-1])))
	}
	return most
}

// steadyPace is the change of speed from tooth to tooth, as a part of it, up to
// which the wave between them is compared well.
const steadyPace = 0.03

// gainsTell is the variance of a tooth's mean height up to which that says more
// of the tooth than of the noise.
const gainsTell = 0.04 * 0.04

// alike tells that the five intervals amid the ring are single pitches.
func (g *gatherer) alike() bool {
	few := g.pattern != nil && len(g.pattern.parts) < fewTeeth
	usual := g.ring[middle+3].at - g.ring[middle+2].at
	for i := middle; i < middle+5; i++ {
		from, to := &g.ring[i], &g.ring[i+1]
		if g.pattern == nil {
			if q := (to.at - from.at) / usual; q < 0.75 || q > 1.33 {
				return false
			}
		} else if !g.pattern.regular(from.slot) && !(few && (i == middle || i == middle+4)) {
			return false
		}
	}
	return true
}

// isCut tells that one of the teeth that bound these intervals stands at the end of
// the range.
func (g *gatherer) isCut() bool {
	for i := middle; i <= middle+5; i++ {
		if g.ring[i].clipped {
			return true
		}
	}
	return false
}

// Where teeth side by side differ, as on a wheel of few and while the speed
// ripples, the same tooth a turn ago tells more.
const (
	fewPerTurn     = 16      // teeth
	mostKept       = 1 << 17 // samples in two turns, beyond which they are not kept
	enoughTurnwise = 1 << 12 // samples of noise at a speed, where teeth are alike as well
	settledTeeth   = middle  // behind the one whose time is smoothened last
)

// settling is the number of teeth behind one that tell its time: fewer where teeth stand
// apart, and as many are turns.
func (g *gatherer) settling() int {
	if g.apart {
		return min(settledTeeth, len(g.pattern.parts)/4)
	}
	return settledTeeth
}

// unlike tells that teeth side by side differ.
func (g *gatherer) unlike() bool { return len(g.pattern.parts) < fewPerTurn || g.ripple > calmRipple }

// turnwise tells whether turns are compared.
func (g *gatherer) turnwise() bool {
	return g.pattern != nil && (g.unlike() || g.listener.heard < enoughTurnwise || !g.recorder.isOff) && g.turnLen < mostKept/2
}

// betweenTurns measures noise in the last interval that is settled, against the
// same one turn and two turns before.
func (g *gatherer) betweenTurns() {
	first, middle, last, ok := g.turnsApart()
	if !ok {
		return
	}
	restV := g.passed[len(g.passed)-g.settling()-3].restV
	b := neighbours{own: middle, others: []stretch{first, last}, restV: restV}
	if !g.unlike() {
		g.listenTo(&b, alikeTurns)
		return
	}
	g.listenTo(&b, besideTurns)
	if !g.onCam { // where each turn is a whole cycle
		b = neighbours{own: last, others: []stretch{first}, restV: restV}
		g.listenTo(&b, secondTurn)
	}
}

// turnsApart are the last interval that is settled, and the same a turn and two turns
// before; not ok where one is not known. The times of the one amid are those found: how
// the speed ripples comes again in each turn, and is not to be smoothened.
func (g *gatherer) turnsApart() (first, middle, last stretch, ok bool) {
	n := len(g.pattern.parts)
	if g.streak < 2*n+4+2*g.settling() {
		return first, middle, last, false
	}
	last, ok = g.stretch(0)
	middle, ok1 := g.stretch(n)
	first, ok2 := g.stretch(2 * n)
	if !ok || !ok1 || !ok2 {
		return first, middle, last, false
	}
	for i := range middle.at {
		end := len(g.passed) - g.settling() - 4 + i
		after, before := g.passed[end].lapse, g.passed[end-n].lapse
		if after == 0 || before == 0 {
			return first, middle, last, false
		}
		first.at[i], last.at[i] = middle.at[i]-before, middle.at[i]+after
	}
	return first, middle, last, first.at[1] >= float64(g.w.first)+4
}

// listenTo takes what is left of an interval in one of the ways.
func (g *gatherer) listenTo(b *neighbours, way int) {
	b.tape = g.recorder.tape(way)
	b.compare(g.w, g.noise.in(way))
}

// stretch is the last interval that is settled, or one some teeth before, at the times
// found; not ok where it is cut off.
func (g *gatherer) stretch(before int) (s stretch, ok bool) {
	end := len(g.passed) - g.settling() - before
	if end < 4 {
		return s, false
	}
	for i := range s.at {
		t := &g.passed[end-4+i]
		if t.clipped {
			return s, false
		}
		s.at[i] = t.balance
	}
	s.gain = [2]float64{1, 1}
	t := &g.passed[end-3]
	s.turned, s.part = t.turned, g.pattern.parts[t.slot]
	return s, true
}

// learnLapse works out how long after the turn before the last settled tooth passed:
// by those about it, as far as they make a line. So two turns are laid over each other
// better than their teeth are placed, while an engine that speeds up in jerks is
// followed from tooth to tooth.
func (g *gatherer) learnLapse() {
	n, settling := len(g.pattern.parts), g.settling()
	at := len(g.passed) - 1 - settling
	if g.streak < n+2*settling+1 {
		return
	}
	reach := min(settling, n/4)
	var x, lapse [2*settledTeeth + 1]float64
	for k := range 2*reach + 1 {
		tooth := &g.passed[at+k-reach]
		x[k] = tooth.balance - g.passed[at].balance
		lapse[k] = tooth.balance - g.passed[at+k-reach-n].balance
	}
	g.passed[at].lapse = smoothMiddle(x[:2*reach+1], lapse[:2*reach+1])
}

// smoothMiddle is the value at 0, amid the places, by the line through all values but
// outliers, as far as what they are off it looks like chance: then it does not change
// slowly (J. von Neumann, Ann. Math. Stat. 12, 1941, 367, with second differences).
func smoothMiddle(x, y []float64) float64 {
	const (
		outlier = 3 // times the usual
		chance  = 0.5
	)
	middle := len(x) / 2
	if middle < 2 {
		return y[middle]
	}
	at, slope := lineThrough(x, y, nil, 0)
	var off, sorted [2*settledTeeth + 1]float64
	var offs, bends float64
	for i := range x {
		d := y[i] - at - slope*x[i]
		off[i] = math.Abs(d)
		offs += d * d
		if i > 1 {
			bend := y[i] - 2*y[i-1] + y[i-2]
			bends += bend * bend / 6 // of values that are independent, as much as one's square
		}
	}
	sorted = off
	slices.Sort(sorted[:len(x)])
	if limit := outlier * median.OfSorted(sorted[:len(x)]); sorted[len(x)-1] > limit {
		at, _ = lineThrough(x, y, off[:], limit)
	}
	if bends < chance*offs {
		return y[middle] + bends/(chance*offs)*(at-y[middle])
	}
	return at
}

// lineThrough is the least-squares line through the points that are off by no more than
// a limit.
func lineThrough(x, y, off []float64, limit float64) (at, slope float64) {
	var n, sx, sy, xx, xy float64
	for i := range x {
		if off != nil && off[i] > limit {
			continue
		}
		n, sx, sy, xx, xy = n+1, sx+x[i], sy+y[i], xx+x[i]*x[i], xy+x[i]*y[i]
	}
	if d := n*xx - sx*sx; d > 0 {
		slope = (n*xy - sx*sy) / d
	}
	return (sy - slope*sx) / n, slope
}
