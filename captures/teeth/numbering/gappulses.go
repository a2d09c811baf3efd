package numbering

import (
	"math"

	"armcurve/captures/teeth/pulses"
)

// Noise as strong as half a tooth makes pulses in the gaps that look like teeth. Where
// the wheel has turned evenly, one that comes well before the tooth behind a gap is due
// is none.

const (
	soonBy     = 0.5  // pitches before a tooth is due
	betweenBy  = 0.35 // the same where none is missing
	surelySoon = 4    // standard deviations of teeth from the wheel's even turning
	evenMost   = 16   // that it is told by, at most
	likeTeeth  = 0.7  // of a tooth's flux: so many as are missing, that strong, fill a gap
	filledRow  = 2    // gaps in a row that are filled tell that the count is wrong
)

// isTooSoon tells that a mark comes well before the next tooth is due, by the even
// turning over the last teeth.
func (n *Numberer) isTooSoon(m pulses.Mark) bool {
	lacking, off, ok := n.lacking(m)
	soon := soonBy
	if n.Pattern.Regular(n.slot) {
		soon = betweenBy
	}
	return ok && lacking > max(soon, surelySoon*off)
}

// isDue tells that a mark comes just when the next tooth is due.
func (n *Numberer) isDue(m pulses.Mark) bool {
	lacking, off, ok := n.lacking(m)
	return ok && math.Abs(lacking) < betweenBy && off < betweenBy/2
}

// lacking is by how much the wheel has yet to turn, at a mark, for the next tooth, and
// the standard deviation of teeth from its even turning; both in pitches. Not ok where
// too few teeth tell.
func (n *Numberer) lacking(m pulses.Mark) (lacking, off float64, ok bool) {
	teeth := n.evenTeeth()
	if teeth == 0 {
		return 0, 0, false
	}
	speed, turned, off := n.evenTurning(teeth, m.At)
	lacking = n.turned + n.Pattern.Parts[n.slot] - turned
	if before := n.lengths[n.slot]; before > 0 {
		lacking = min(lacking, (n.last.At+before-m.At)*speed)
	}
	if gap := n.Pattern.Parts[n.slot]; !n.Pattern.Regular(n.slot) {
		// Where the engine speeds up many teeth lag behind; the last pitches, as many as
		// this gap has, do so least.
		lacking = min(lacking, gap-(m.At-n.last.At)*n.speedOver(gap))
	}
	if n.widths > 0 && m.Swing > likeTeeth*n.last.Swing {
		// How fast it passed a tooth shows by itself, where few tell how the speed changes.
		lacking = min(lacking, n.Pattern.Parts[n.slot]-n.inWidths(m)/n.widths)
	}
	pitches := float64(n.Pattern.Wheel.Pitches)
	return lacking * pitches, off * pitches, true
}

// evenTeeth is the number of teeth that an even turning is told by; 0 where too few tell.
func (n *Numberer) evenTeeth() int {
	teeth := max(trailLen, min(evenMost, len(n.Pattern.Parts)/3))
	if n.trailed < teeth || n.Pattern.Wheel.Pitches == 0 {
		return 0
	}
	return teeth
}

// turnedEvenly is by how much the wheel has turned since the last tooth at a position, by
// its even turning; not ok where it does not turn evenly.
func (n *Numberer) turnedEvenly(at float64) (turned float64, ok bool) {
	teeth := n.evenTeeth()
	if teeth == 0 {
		return 0, false
	}
	_, turned, off := n.evenTurning(teeth, at)
	return turned - n.turned, off*float64(n.Pattern.Wheel.Pitches) < betweenBy/2
}

// inWidths is the time since the last tooth in widths of a pulse there and at a mark, which
// are the narrower the faster the wheel turns.
func (n *Numberer) inWidths(m pulses.Mark) float64 {
	return (m.At - n.last.At) / (m.Own + n.last.Own)
}

// learnWidths takes the next tooth's.
func (n *Numberer) learnWidths(m pulses.Mark) {
	const share = 0.1
	if !n.Pattern.Regular(n.slot) {
		return // a noisy pulse may have been taken there
	}
	widths := n.inWidths(m) / n.Pattern.Parts[n.slot]
	if n.widths == 0 {
		n.widths = widths
	}
	n.widths += share * (widths - n.widths)
}

// evenTurning is the straight line through the last teeth: how fast the wheel turned,
// how far it has at a position, and the standard deviation of the teeth from it.
func (n *Numberer) evenTurning(teeth int, at float64) (speed, turned, off float64) {
	var x1, x2, y1, xy, y2 float64
	for i := range teeth {
		p := n.back(i)
		x, y := p.at-at, p.turned-n.turned
		x1, x2, y1, xy, y2 = x1+x, x2+x*x, y1+y, xy+x*y, y2+y*y
	}
	k := float64(teeth)
	x2, xy, y2 = x2-x1*x1/k, xy-x1*y1/k, y2-y1*y1/k
	speed = xy / x2
	return speed, n.turned + (y1-speed*x1)/k, math.Sqrt(max(0, y2-speed*xy) / (k - 2))
}

// gap is what came in the gap under way, and in those before.
type gap struct {
	strong  int     // marks like teeth in it
	filled  int     // gaps in a row with as many as it lacks
	weakest float64 // tooth since the one before, times the tooth before it; 0 where one did not come
}

// fills tells that a mark in the gap may be a tooth, and the gap elsewhere. There is one:
// if a pulse came for every tooth since the gap before, one among them all is none, and a
// tooth is nearer to the others than to the weakest.
func (n *Numberer) fills(m pulses.Mark) bool {
	return m.Swing > max(likeTeeth, (1+n.gap.weakest)/2)*n.last.Swing
}

// passOver leaves out a mark where no tooth is due. Where that comes often, or gaps are
// filled again and again and so are none, the count is wrong.
func (n *Numberer) passOver(m pulses.Mark) {
	switch {
	case n.Pattern.Regular(n.slot):
		n.misfits += 0.5
	case n.fills(m):
		n.gap.strong++
	}
	if n.misfits > misfitsMost || n.isFilled() && n.gap.filled+1 >= filledRow {
		n.restart(m)
		return
	}
	n.dropped++
}

// isFilled tells that as many marks like teeth came in the gap as it lacks.
func (n *Numberer) isFilled() bool {
	if n.Pattern.Regular(n.slot) {
		return false
	}
	pitches := n.Pattern.Parts[n.slot] * float64(n.Pattern.Wheel.Pitches)
	return float64(n.gap.strong) > pitches-1.5
}

// leaveGap notes what came in the gap that a tooth ends, so many steps on, if it ends one;
// and how weak the tooth is.
func (n *Numberer) leaveGap(m pulses.Mark, steps int) {
	if !n.Pattern.Regular(n.slot) {
		filled := 0
		if n.isFilled() {
			filled = n.gap.filled + 1
		}
		n.gap = gap{filled: filled, weakest: math.Inf(1)}
	}
	n.gap.weakest = min(n.gap.weakest, m.Swing/n.last.Swing)
	if steps > 1 {
		n.gap.weakest = 0
	}
}

// isForeign tells that a mark in a gap is one of the pulses that are known to come
// there.
func (n *Numberer) isForeign(m pulses.Mark) bool {
	return n.Pattern.Foreign > 0 && n.Pattern.IsForeign(n.slot, m.Flux/n.last.Flux, n.ratio(m))
}
