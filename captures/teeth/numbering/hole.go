package numbering

import (
	"armcurve/captures/teeth/pulses"
	"armcurve/captures/teeth/wheels"
)

// Where a loose contact takes the wave away, the wheel turns on. What comes next is
// kept until it tells where on the wheel it is; see bridge.

const (
	lateBy    = 0.55 // pitches by which a mark comes later than where no tooth is lacking
	leastTold = 8    // pitches of a wheel, from which its teeth are told apart by time
	overCrawl = 3    // times the speed of an engine that begins to turn: faster than it is cranked
	faint     = 0.25 // of a tooth's flux, up to which a pulse is none
	mostTurns = 6    // turns of teeth after which no more are waited for
)

// hole is what came since the wave was lost, perhaps more than once.
type hole struct {
	marks  []pulses.Mark
	newest int // index of the first mark since it was last lost
	tryAt  int // number of marks at which they are placed, if they can be
}

// bridges tells that the wheel's place can be carried over a hole: it turns
// faster than it is cranked, and compression slows it down little.
func (n *Numberer) bridges() bool {
	return n.Pattern.Wheel.Pitches >= leastTold && n.trailed >= trailLen &&
		n.speedOver(1) > overCrawl*n.Crawl && n.turnsEvenly()
}

// turnsEvenly tells that compression hardly slowed the wheel down in the last turn:
// the speeds over two intervals of it are alike.
func (n *Numberer) turnsEvenly() bool {
	var speeds []float64
	for i := 2; i < min(n.trailed, len(n.Pattern.Parts)+2); i++ {
		to, from := n.back(i-2), n.back(i)
		speeds = append(speeds, (to.turned-from.turned)/(to.at-from.at))
	}
	return wheels.AreEven(speeds)
}

// lacks tells that teeth are lacking between the mark that waits, which is the
// next tooth or the rest of one, and the mark behind it.
func (n *Numberer) lacks(behind pulses.Mark) bool {
	parts := n.Pattern.Parts
	second := n.slot + 1
	if second == len(parts) {
		second = 0
	}
	length, perTurn := behind.At-n.last.At, float64(n.Pattern.Wheel.Pitches)
	if (length*n.speed-parts[n.slot]-parts[second])*perTurn < lateBy || !n.bridges() {
		return false
	}
	a, b := n.lengths[n.slot], n.lengths[second]
	return a == 0 || b == 0 || (length-a-b)*n.speed*perTurn > lateBy
}

// open begins to keep marks, from those that wait on.
func (n *Numberer) open(m pulses.Mark) {
	h := &hole{}
	if n.held != nil {
		h.marks = append(h.marks, *n.held)
		n.held = nil
	}
	h.marks = append(h.marks, n.waiting...)
	n.waiting = n.waiting[:0]
	h.lost()
	n.hole = h
	n.keep(m)
}

// lost notes that the next mark comes after a loss.
func (h *hole) lost() {
	h.newest = len(h.marks)
	h.tryAt = h.newest + tellingRow + 1
}

// keep takes a mark since the wave was lost.
func (n *Numberer) keep(m pulses.Mark) {
	h := n.hole
	if m.Swing < faint*n.last.Swing {
		n.dropped++
		return
	}
	if k := len(h.marks); k > h.newest && (m.IsNew || n.isFar((m.At-h.marks[k-1].At)*n.speed)) {
		h.lost()
	}
	h.marks = append(h.marks, m)
	if len(h.marks) >= h.tryAt {
		h.tryAt += tellingRow
		teeth := len(n.Pattern.Parts)
		n.close(len(h.marks)-h.newest > teeth+tellingRow || len(h.marks) > mostTurns*teeth)
	}
}

// isFar tells that a part of a turn is longer than any gap.
func (n *Numberer) isFar(part float64) bool { return part > speedsBeside*n.Pattern.LongestPart() }

// close places what was kept where it tells its place, or as likely as can be if
// no more is waited for. What cannot be placed is followed as it is.
func (n *Numberer) close(last bool) {
	b := newBridge(n)
	isPlaced := b.place()
	switch {
	case isPlaced && b.isWrong():
		marks := n.hole.marks
		n.hole = nil
		n.restart(marks[0])
		n.takeAll(marks[1:])
	case isPlaced && (last || b.tells()):
		n.hole = nil
		n.cross(b)
	case last:
		marks := n.hole.marks
		n.hole = nil
		n.takeAll(marks)
	}
}

func (n *Numberer) takeAll(marks []pulses.Mark) {
	for _, m := range marks {
		n.take(m)
	}
}

// cross follows what was kept to where it was placed. The last tooth waits again:
// it may be the last before another hole.
func (n *Numberer) cross(b *bridge) {
	from, _ := b.tooth(b.from[0])
	for i := range b.rows {
		r := &b.rows[i]
		for k, m := range r.marks {
			if i == 0 && k == 0 {
				continue // the last tooth before
			}
			tooth, is := b.tooth(b.from[i] + r.places[k])
			if !is || tooth <= from {
				n.dropped++
				continue
			}
			atEdge := k == 0 || k == len(r.marks)-1 && i < len(b.rows)-1
			if k > 0 && k == len(r.marks)-1 && !atEdge && tooth == from+1 {
				n.waiting = append(n.waiting, m)
				return
			}
			m.IsNew, m.Marred = false, m.Marred || atEdge // it may be the rest of a tooth
			over := unbent
			if k == 0 {
				over = b.spans[i].bend()
			}
			n.acceptOver(m, tooth-from, over)
			from = tooth
		}
	}
}

const (
	// runDown is what a wheel that nothing drives any more loses at most, turns per second
	// in each second: the friction of any engine takes less from it (common practice).
	runDown = 50
	asFast  = 1. / 8 // of a speed that may be lost while it is taken for the same
)

// loseUpTo counts the teeth that passed behind the last one where the wave is lost and does
// not come again, for as long as the wheel surely turned about as fast.
func (n *Numberer) loseUpTo(end float64) {
	if n.Pattern == nil || n.trailed == 0 || !n.bridges() {
		return
	}
	speed, parts := n.speedOver(1), n.Pattern.Parts
	surelyS := asFast * speed / n.StepS / runDown
	turned := min(end-n.last.At, surelyS/n.StepS) * speed
	if !n.isFar(turned) {
		return
	}
	n.IsGone = true
	steps, passed := 0, 0.0
	for passed < turned {
		passed += parts[(n.slot+steps)%len(parts)]
		steps++
	}
	n.pass(n.last.At+passed/speed, steps, unbent)
}
