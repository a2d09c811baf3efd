package numbering

import (
	"slices"

	"armcurve/captures/teeth/pulses"
	"armcurve/captures/teeth/wheels"
)

// Where the wave is lost in its first turns, what comes before may show no gap. Then
// the parts are placed together, as behind a hole, the first of them anywhere.

// openingTurns are the turns by which the wave's beginning is placed; see startRun.
const openingTurns = 3

// setAside keeps what is pending, a short run, for what comes behind to place it; too
// long before that, it was no wheel turning.
func (n *Numberer) setAside() {
	if len(n.early) > 0 && len(n.Pending) > 0 && (n.Pending[0].At-n.early[len(n.early)-1].At)*n.StepS > lostMostS {
		n.flushEarly()
	}
	n.early = append(n.early, n.Pending...)
	n.Pending = n.Pending[:0]
}

// startWithEarly places the first marks, with the short runs before them if these
// fit, and gives those that are left.
func (n *Numberer) startWithEarly(marks []pulses.Mark) (left []pulses.Mark) {
	early := n.early
	n.early = nil
	if len(early) > 0 {
		all := slices.Concat(early, marks)
		if taken := n.startBroken(all); taken > 0 {
			return all[taken:]
		}
		n.giveUp(early)
	}
	return marks[n.startBroken(marks):]
}

// mostHidden are the teeth that may be lacking in what seem gaps.
const mostHidden = 2

// startBroken places the first marks, where the wave was lost among them, and gives
// their number; 0 where it was not, or where they do not tell.
func (n *Numberer) startBroken(marks []pulses.Mark) int {
	if n.Pattern.Wheel.Pitches < leastTold {
		return 0
	}
	for turns := openingTurns; turns <= mostTurns; turns++ {
		taken := min(len(marks), turns*len(n.Pattern.Parts))
		b := n.newOpening(marks[:taken])
		switch {
		case len(b.rows) == 1 && !b.hidesHole():
			return 0
		case b.outruns() && b.turnsEvenly() && b.place() && b.tells():
			n.speed, n.lengths = 0, make([]float64, len(n.Pattern.Parts))
			n.begin(b.rows[0].marks[0], b.slotAt[b.from[0]])
			n.cross(b)
			return taken
		case taken == len(marks):
			return 0
		}
	}
	return 0
}

// newOpening divides the first marks of a wave into rows.
func (n *Numberer) newOpening(marks []pulses.Mark) *bridge {
	lengths := make([]float64, len(marks)-1)
	for i := range lengths {
		lengths[i] = marks[i+1].At - marks[i].At
	}
	b := n.bridgeOf(usualPitch(lengths, 0))
	b.opens = true
	b.divide(marks, -1)
	return b
}

// outruns tells that the wheel turns faster on either side of all holes than it is
// cranked.
func (b *bridge) outruns() bool {
	least := overCrawl * b.n.Crawl * float64(b.pitches)
	if 1/b.pitch <= least {
		return false
	}
	for _, s := range b.spans[1:] {
		if min(s.before, s.behind) <= least {
			return false
		}
	}
	return true
}

// hidesHole tells that the only row fits the wheel nowhere but nearly does somewhere:
// one of what seem its gaps is a hole as long.
func (b *bridge) hidesHole() bool {
	least := len(b.rows[0].marks)
	for _, place := range b.n.Pattern.Wheel.Positions {
		least = min(least, b.odd(0, place))
	}
	return least > 0 && least <= mostHidden
}

// turnsEvenly tells that no compression slows the wheel down much within a turn between the
// holes: where one does, a late mark tells of none.
func (b *bridge) turnsEvenly() bool {
	for i := range b.rows {
		r := &b.rows[i]
		var speeds []float64
		for k := 2; k < len(r.marks); k++ {
			speeds = append(speeds, 1/r.pitch(k-2, k))
		}
		for from := range speeds {
			if !wheels.AreEven(speeds[from:min(from+len(b.n.Pattern.Parts), len(speeds))]) {
				return false
			}
		}
	}
	return true
}
