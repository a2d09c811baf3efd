package teeth

import (
	"math"
	"slices"

	"armcurve/captures/teeth/median"
	"armcurve/captures/teeth/noise"
	"armcurve/captures/teeth/numbering"
	"armcurve/captures/teeth/wheels"
)

// measureNoise looks for noise between the teeth, if it is its turn.
func (g *gatherer) measureNoise() {
	tooth := &g.ring[newest]
	g.schedule.Turnwise, g.schedule.Continuous = g.comparesTurns(), !g.tones.IsOff()
	isTurn := g.schedule.Next()
	g.measuring = isTurn
	switch {
	case !tooth.Seen || !g.isPlaced(tooth) || !isTurn && !g.comparesTurns(): // turns are many teeth to begin anew with
		g.streak = 0
		return
	case !g.joined(newest):
		g.streak = 0
	}
	g.streak++
	if g.pattern != nil && !g.apart {
		g.smoothen()
	}
	if g.comparesTurns() {
		g.learnTurnTime()
	}
	if isTurn {
		g.compareAll(tooth)
	}
}

// isPlaced tells that a tooth's place on the wheel is known, if a wheel is.
func (g *gatherer) isPlaced(t *numbering.Tooth) bool { return g.pattern == nil || t.Slot >= 0 }

// compareAll takes the noise before a tooth in every method that there is.
func (g *gatherer) compareAll(tooth *numbering.Tooth) {
	switch {
	case !g.apart && g.streak > ringLen-1-middle:
		g.compareTeeth()
	case g.apart && g.streak > 1 && g.count.Revolutions > 0:
		g.learnShape(g.ring[newest-1].At, tooth.At)
		g.measurePause()
	}
	if g.comparesTurns() && g.count.Revolutions > 0 {
		g.compareTurns()
	}
}

// compareTeeth measures noise in the middle interval of the ring, where the five
// about it are alike, and the wave's shape.
func (g *gatherer) compareTeeth() {
	if !g.alike() {
		return
	}
	if g.isCut() {
		g.cut.add(g.w, g.ring[middle+2].At, g.ring[middle+3].At)
		return
	}
	var at [6]float64
	var gain [6]float64
	known := 0
	for i := range at {
		t := &g.ring[middle+i]
		at[i], gain[i] = g.timeOf(t), 1
		if g.pattern == nil || g.gains[t.Slot].n == 0 {
			continue
		}
		known++
		if g.scatter.mean < gainsTell*g.gains[t.Slot].n {
			gain[i] = max(g.gains[t.Slot].mean, 0.05)
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
	method := noise.BesideTeeth
	if g.ripple > calmRipple && unevenness(at[:]) > steadyPace {
		method = noise.UnsteadyBeside
	}
	stretchAt := func(i int) noise.Interval {
		t := &g.ring[middle+i+1]
		return noise.Interval{At: [4]float64(at[i : i+4]), Gain: [2]float64(gain[i+1 : i+3]), Turned: t.Turned, Part: g.pattern.Parts[t.Slot]}
	}
	b := noise.Comparison{
		Own:    stretchAt(1),
		Others: []noise.Interval{stretchAt(0), stretchAt(2)},
		RestV:  (g.ring[middle+2].RestV + g.ring[middle+3].RestV) / 2,
	}
	g.compare(&b, method)
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
	few := g.pattern != nil && len(g.pattern.Parts) < wheels.FewTeeth
	usual := g.ring[middle+3].At - g.ring[middle+2].At
	for i := middle; i < middle+5; i++ {
		from, to := &g.ring[i], &g.ring[i+1]
		if g.pattern == nil {
			if q := (to.At - from.At) / usual; q < 0.75 || q > 1.33 {
				return false
			}
		} else if !g.pattern.Regular(from.Slot) && !(few && (i == middle || i == middle+4)) {
			return false
		}
	}
	return true
}

// isCut tells that one of the teeth that bound these intervals stands at the end of
// the range.
func (g *gatherer) isCut() bool {
	for i := middle; i <= middle+5; i++ {
		if g.ring[i].Clipped {
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
		return min(settledTeeth, len(g.pattern.Parts)/4)
	}
	return settledTeeth
}

// unlike tells that teeth side by side differ.
func (g *gatherer) unlike() bool { return len(g.pattern.Parts) < fewPerTurn || g.ripple > calmRipple }

// comparesTurns tells whether turns are compared.
func (g *gatherer) comparesTurns() bool {
	return g.pattern != nil && (g.unlike() || g.schedule.Samples < enoughTurnwise || !g.tones.IsOff()) && g.turnLen < mostKept/2
}

// compareTurns measures noise in the last interval that is settled, against the
// same one turn and two turns before.
func (g *gatherer) compareTurns() {
	first, middle, last, ok := g.turnsApart()
	if !ok {
		return
	}
	restV := g.passed[len(g.passed)-g.settling()-3].RestV
	b := noise.Comparison{Own: middle, Others: []noise.Interval{first, last}, RestV: restV}
	if !g.unlike() {
		g.compare(&b, noise.AlikeTurns)
		return
	}
	g.compare(&b, noise.BesideTurns)
	if !g.onCam { // where each turn is a whole cycle
		b = noise.Comparison{Own: last, Others: []noise.Interval{first}, RestV: restV}
		g.compare(&b, noise.SecondTurn)
	}
}

// turnsApart are the last interval that is settled, and the same a turn and two turns
// before; not ok where one is not known. The times of the one amid are those found: how
// the speed ripples comes again in each turn, and is not to be smoothened.
func (g *gatherer) turnsApart() (first, middle, last noise.Interval, ok bool) {
	n := len(g.pattern.Parts)
	if g.streak < 2*n+4+2*g.settling() {
		return first, middle, last, false
	}
	last, ok = g.interval(0)
	middle, ok1 := g.interval(n)
	first, ok2 := g.interval(2 * n)
	if !ok || !ok1 || !ok2 {
		return first, middle, last, false
	}
	for i := range middle.At {
		end := len(g.passed) - g.settling() - 4 + i
		after, before := g.passed[end].TurnTime, g.passed[end-n].TurnTime
		if after == 0 || before == 0 {
			return first, middle, last, false
		}
		first.At[i], last.At[i] = middle.At[i]-before, middle.At[i]+after
	}
	alike := within(length(&first), length(&middle), mostChanged) && within(length(&last), length(&middle), mostChanged)
	return first, middle, last, alike && first.At[1] >= float64(g.w.first)+4
}

// mostChanged is the ratio of speeds up to which turns are compared: from one to the
// other a coil's lag and what it takes of the peaks changes, and not evenly.
const mostChanged = 1.2

func length(s *noise.Interval) float64 { return s.At[2] - s.At[1] }

// compare takes what is left of an interval in one of the methods.
func (g *gatherer) compare(b *noise.Comparison, method int) {
	b.Series = g.tones.Series(method)
	b.Compare(noise.Wave{First: g.w.first, V: g.w.v}, g.noise.In(method))
}

// interval is the last interval that is settled, or one some teeth before, at the times
// found; not ok where it is cut off.
func (g *gatherer) interval(before int) (s noise.Interval, ok bool) {
	end := len(g.passed) - g.settling() - before
	if end < 4 {
		return s, false
	}
	for i := range s.At {
		t := &g.passed[end-4+i]
		if t.Clipped {
			return s, false
		}
		s.At[i] = t.Balance
	}
	s.Gain = [2]float64{1, 1}
	t := &g.passed[end-3]
	s.Turned, s.Part = t.Turned, g.pattern.Parts[t.Slot]
	return s, true
}

// learnTurnTime works out how long after the turn before the last settled tooth passed:
// by those about it, as far as they make a line. So two turns are laid over each other
// better than their teeth are placed, while an engine that speeds up in jerks is
// followed from tooth to tooth.
func (g *gatherer) learnTurnTime() {
	n, settling := len(g.pattern.Parts), g.settling()
	at := len(g.passed) - 1 - settling
	if g.streak < n+2*settling+1 {
		return
	}
	reach := min(settling, n/4)
	var x, time [2*settledTeeth + 1]float64
	for k := range 2*reach + 1 {
		tooth := &g.passed[at+k-reach]
		x[k] = tooth.Balance - g.passed[at].Balance
		time[k] = tooth.Balance - g.passed[at+k-reach-n].Balance
	}
	g.passed[at].TurnTime = smoothMiddle(x[:2*reach+1], time[:2*reach+1])
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
