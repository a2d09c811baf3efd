package teeth

import "math"

// listen looks for noise between the teeth, if it is its turn.
func (g *gatherer) listen() {
	tooth := &g.ring[newest]
	g.listener.turnwise = g.turnwise()
	isTurn := g.listener.next()
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
	for i := range at {
		t := &g.ring[middle+i]
		at[i], gain[i] = g.timeOf(t), 1
		if g.pattern != nil && g.gains[t.slot].n > 0 && g.scatter.mean < gainsTell*g.gains[t.slot].n {
			gain[i] = max(g.gains[t.slot].mean, 0.05)
		}
	}
	if !even(gain[1:5]) || at[1] < float64(g.w.first)+4 || at[5] > float64(g.w.end())-4 {
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
	b := neighbours{
		own: stretch{[4]float64(at[1:5]), [2]float64(gain[2:4])},
		others: []stretch{
			{[4]float64(at[0:4]), [2]float64(gain[1:3])},
			{[4]float64(at[2:6]), [2]float64(gain[3:5])},
		},
		restV: (g.ring[middle+2].restV + g.ring[middle+3].restV) / 2,
	}
	b.compare(g.w, g.noise.in(way))
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
	fewPerTurn   = 16      // teeth
	mostKept     = 1 << 18 // samples in two turns, beyond which they are not kept
	settledTeeth = middle  // behind the one whose time is smoothened last
)

// turnwise tells whether turns are compared.
func (g *gatherer) turnwise() bool {
	return g.pattern != nil && (len(g.pattern.parts) < fewPerTurn || g.ripple > calmRipple) && g.turnLen < mostKept/2
}

// betweenTurns measures noise in the last interval that is settled, against the
// same one turn and two turns before.
func (g *gatherer) betweenTurns() {
	n := len(g.pattern.parts)
	if g.streak < 2*n+4+settledTeeth {
		return
	}
	last, ok := g.stretch(0)
	middle, ok1 := g.stretch(n)
	first, ok2 := g.stretch(2 * n)
	if !ok || !ok1 || !ok2 || first.at[1] < float64(g.w.first)+4 {
		return
	}
	restV := g.passed[len(g.passed)-settledTeeth-3].restV
	b := neighbours{own: middle, others: []stretch{first, last}, restV: restV}
	b.compare(g.w, g.noise.in(besideTurns))
	if g.onCam {
		return // each turn is a whole cycle
	}
	b = neighbours{own: last, others: []stretch{first}, restV: restV}
	b.compare(g.w, g.noise.in(secondTurn))
}

// stretch is the last interval that is settled, or one some teeth before; not ok
// where it is cut off. Times are those found: how the speed ripples comes again in
// each turn, and is not to be smoothened.
func (g *gatherer) stretch(before int) (s stretch, ok bool) {
	end := len(g.passed) - settledTeeth - before
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
	return s, true
}
