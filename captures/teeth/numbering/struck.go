package numbering

import (
	"math"
	"slices"

	"armcurve/captures/teeth/pulses"
)

// What strikes the wave beside a tooth, as a spark does, hides the tooth, moves its
// fall or passes for one. But the wheel cannot jump: where teeth on either side that
// nothing struck agree about its speed, they tell where those between them are.

const (
	struckTimes  = 1.4    // what the wave usually reaches, at most
	struckLeast  = 1.15   // and at least
	struckSurely = 6      // mean deviations of that
	struckStep   = 1. / 3 // of a tooth's flux, lost for good
	struckOff    = 0.15   // pitches by which nothing but a strike moves a fall, if it comes back at once
	struckMost   = 10     // marks in a row, at most
	trailLen     = 5      // teeth that tell the speed before
	backWithin   = 0.25   // pitches of where the wheel should be
	againWithin  = 0.5    // the same by how it turned a turn ago
	steadySpeeds = 1.1    // ratio of the speeds before, between and behind
	movedBy      = 0.1    // pitches by which something moved a fall
	movedTimes   = 4      // what falls before are off an even turning
)

// queue keeps a mark until the next has come: what lies behind a fall may have
// moved it.
func (n *Numberer) queue(m pulses.Mark) {
	if n.reach == 0 {
		n.reach = m.FarV
	}
	usual := max(n.reach, n.ownReach(&m))
	m.Struck = n.goesFar(&m, usual) || n.loses(&m) || n.covers(&m) || n.isOff(&m)
	n.learnUsual(&m, usual)
	n.waiting = append(n.waiting, m)
	last := len(n.waiting) - 1
	switch {
	case last == 0:
	case m.Struck || n.waiting[last-1].Struck:
		if last >= struckMost {
			n.giveUpReckoning()
		}
	case last == 1:
		first := n.waiting[0]
		if n.lacks(m) {
			n.waiting = n.waiting[:1]
			n.open(m)
			return
		}
		n.waiting = append(n.waiting[:0], m)
		n.follow(first)
	case !n.reckon() && last >= struckMost:
		n.giveUpReckoning()
	}
	if n.collecting {
		n.drain()
	}
}

// goesFar tells that the wave goes clearly farther than usual beside the next mark. Beside a
// gap it may do so by itself.
func (n *Numberer) goesFar(m *pulses.Mark, usual float64) bool {
	times := m.FarV / usual
	return times > struckTimes || times > max(struckLeast, 1+struckSurely*n.strays) && n.isAmid()
}

// isAmid tells that the next mark, if it is a tooth, is one amid others.
func (n *Numberer) isAmid() bool {
	return n.Pattern.Amid((n.slot + len(n.waiting) + 1) % len(n.Pattern.Parts))
}

// loses tells that flux is lost for good at the next mark, which no tooth amid others does:
// what struck it need not go far where it lifts the wave out of a trough.
func (n *Numberer) loses(m *pulses.Mark) bool {
	return math.Abs(m.Step) > max(struckStep*n.last.Flux, struckSurely*n.steps) && n.isAmid()
}

// covers tells that one tooth is lacking before the next mark where the wave moves as teeth
// do: something took its fall away, and no loose contact the wave.
func (n *Numberer) covers(m *pulses.Mark) bool {
	const moves = 0.6
	if m.AmidV < moves*n.reach {
		return false
	}
	late := n.late(m)
	return late > lateBy && late < 2-lateBy
}

// isOff tells that a fall comes far from where an even turning has it, a pitch behind the
// one before: what takes a tooth's top to rest may go no farther than the wave does anyway.
// While an engine is cranked, compressions do so as well: a whole turn has to show none.
func (n *Numberer) isOff(m *pulses.Mark) bool {
	if !n.Pattern.Regular(n.nextSlot()) || n.trailed <= len(n.Pattern.Parts) {
		return false
	}
	late := math.Abs(n.late(m))
	is := late > max(struckOff, struckSurely*n.offs) && late < 1-struckOff && n.bridges()
	n.learnOff(late)
	return is
}

// learnOff learns how far falls come from where an even turning has them: noise moves them,
// and an engine that turns unevenly.
func (n *Numberer) learnOff(late float64) {
	const gain = 0.1
	n.offs += gain * (min(late, struckOff) - n.offs)
}

// nextSlot is that of the tooth before the next mark, if all that wait are teeth.
func (n *Numberer) nextSlot() int { return (n.slot + len(n.waiting)) % len(n.Pattern.Parts) }

// late is by how much the next mark comes later after the one before than the wheel's speed
// has it, in pitches.
func (n *Numberer) late(m *pulses.Mark) float64 {
	before := n.last.At
	if k := len(n.waiting); k > 0 {
		before = n.waiting[k-1].At
	}
	part := n.Pattern.Parts[n.nextSlot()]
	return ((m.At-before)*n.speed - part) * float64(n.Pattern.Wheel.Pitches)
}

// learnUsual learns how far the wave goes, and what steps it has, where nothing strikes it.
func (n *Numberer) learnUsual(m *pulses.Mark, usual float64) {
	const gain, atOnce = 0.1, 3
	strays := math.Abs(m.FarV/usual - 1)
	n.strays += gain * (min(strays, max(atOnce*n.strays, struckLeast-1)) - n.strays)
	n.reach += gain * (min(m.FarV, struckTimes*n.reach) - n.reach)
	if step := math.Abs(m.Step); step == step {
		n.steps += gain * (min(step, struckStep*n.last.Flux) - n.steps)
	}
}

// ownReach is how far from rest a mark shows that its tooth, and the one before, take
// the wave: where the engine speeds up the flux tells, which a spark hardly changes.
// Beside a gap, and most at a lone tooth between two, the lobes are higher than that.
func (n *Numberer) ownReach(m *pulses.Mark) float64 {
	reach := m.Flux / (1.4 * m.Width)
	parts, before := n.Pattern.Parts, n.last
	if k := len(n.waiting); k > 0 {
		before = n.waiting[k-1]
	}
	if n.Pattern.Regular((n.slot + len(n.waiting)) % len(parts)) {
		return reach
	}
	for _, t := range []*pulses.Mark{&before, m} {
		if !t.Marred && t.PeakV > reach {
			reach = t.PeakV
		}
	}
	return reach
}

// drain follows the marks that wait as they are.
func (n *Numberer) drain() {
	waiting := n.waiting
	n.waiting = nil
	for _, m := range waiting {
		n.take(m)
	}
	n.waiting = waiting[:0]
}

// giveUpReckoning goes on to the marks that wait, though they do not fit the wheel's speed:
// as they are, unless the wave was lost among them.
func (n *Numberer) giveUpReckoning() {
	before := n.last.At
	for k, m := range n.waiting {
		if n.isFar((m.At-before)*n.speed) && n.bridges() {
			behind := slices.Clone(n.waiting[k:])
			n.waiting = n.waiting[:k]
			n.open(behind[0])
			n.takeAll(behind[1:])
			return
		}
		before = m.At
	}
	n.drain()
}

// reckon places the teeth between the last one followed and the one before the
// latest, both of them not struck, by the wheel's speed; false where that does
// not fit.
func (n *Numberer) reckon() bool {
	if n.held != nil || n.trailed < trailLen || n.Pattern.Wheel.Pitches == 0 {
		return false
	}
	parts, last := n.Pattern.Parts, len(n.waiting)-1
	good, next := n.waiting[last-1], n.waiting[last]
	pitch := 1 / float64(n.Pattern.Wheel.Pitches)
	before, off, chance := n.lately()
	moved := max(movedBy*pitch, movedTimes*off)
	length := good.At - n.last.At
	steps, turned := n.stepsBy(length * before)
	between := turned / length
	after := parts[(n.slot+steps)%len(parts)] / (next.At - good.At)
	isBack := math.Abs(turned-length*before) < backWithin*pitch && moved < backWithin*pitch
	chance /= pitch
	isSteady := within(between, before, steadySpeeds+chance/float64(steps)) && within(after, between, steadySpeeds+chance)
	if !isBack || !isSteady {
		return false
	}
	if again, ok := n.asATurnAgo(good.At); ok && math.Abs(turned-again) > againWithin*pitch {
		return false
	}
	n.fill(n.waiting[:last-1], steps-1, between, moved)
	n.accept(good, 1)
	n.waiting = append(n.waiting[:0], next)
	return true
}

// asATurnAgo is how far the wheel has turned since the last tooth at a position, if its
// speed changes from here as it did a turn ago: compressions come at like angles in each
// turn, and a wheel that speeds up and slows down again has turned by some pitches more
// than an even speed tells, at nearly the same speed. Not ok where the turn before was
// not followed tooth by tooth.
func (n *Numberer) asATurnAgo(at float64) (turned float64, ok bool) {
	turn := len(n.Pattern.Parts)
	if n.trailed < len(n.trail) {
		return 0, false
	}
	then, from, before := n.back(turn), n.back(trailLen-1), n.back(turn+trailLen-1)
	if skipped := from.turned - 1 - before.turned; skipped*float64(n.Pattern.Wheel.Pitches) > 0.5 {
		return 0, false
	}
	due := then.at + (at-n.last.At)*(then.at-before.at)/(n.last.At-from.at)
	for i := turn; i > 0; i-- {
		if a, b := n.back(i), n.back(i-1); due < b.at {
			return a.turned - then.turned + (b.turned-a.turned)*(due-a.at)/(b.at-a.at), true
		}
	}
	return 0, false
}

// fill places some teeth at a speed: each by the mark that is within a part of a turn of
// it, or hidden where none is. Where something struck the mark, its fall tells the tooth's
// place no better than the wheel's turning does.
func (n *Numberer) fill(struck []pulses.Mark, teeth int, speed, within float64) {
	from, turned := n.last, 0.0
	for range teeth {
		turned += n.Pattern.Parts[n.slot]
		at := from.At + turned/speed
		for len(struck) > 0 && struck[0].At < at-within/speed {
			struck = struck[1:]
		}
		if len(struck) > 0 && struck[0].At < at+within/speed {
			m := struck[0]
			if m.Struck {
				m.Balance += at - m.At
				m.At = at
			}
			n.accept(m, 1)
			struck = struck[1:]
		} else {
			n.accept(hiddenAt(from, at), 1)
		}
	}
}

// lately is the speed over the last teeth, how far off an even turning at it any of them
// was, and by how much chance makes an interval longer or shorter, in turns. Over few teeth
// what is off may be the engine's doing; where more are off by noise, they tell better.
func (n *Numberer) lately() (speed, off, chance float64) {
	if teeth := n.evenTeeth(); teeth > trailLen {
		speed, _, off = n.evenTurning(teeth, n.last.At)
		if n.isByNoise(teeth, speed, off) {
			return speed, off, surelySoon * off
		}
	}
	oldest := n.back(trailLen - 1)
	speed, off = (n.turned-oldest.turned)/(n.last.At-oldest.at), 0
	for i := range trailLen {
		p := n.back(i)
		off = max(off, math.Abs(p.turned-oldest.turned-(p.at-oldest.at)*speed))
	}
	return speed, off, 0
}

// isByNoise tells that noise is why teeth are off an even turning, by a standard deviation:
// it moves each of them by itself, where an engine that changes its speed takes those side
// by side about as far (J. von Neumann, Annals of Mathematical Statistics 12, 1941, 367).
func (n *Numberer) isByNoise(teeth int, speed, off float64) bool {
	apart := 0.0 // sum of the squares by which neighbours differ
	for i := 1; i < teeth; i++ {
		next, p := n.back(i-1), n.back(i)
		d := next.turned - p.turned - (next.at-p.at)*speed
		apart += d * d
	}
	return apart > off*off*float64(teeth-1) // of noise, twice that
}

// back is where a tooth some before the last one was.
func (n *Numberer) back(teeth int) place { return n.trail[(n.trailed-1-teeth)%len(n.trail)] }

// speedOver is the speed over the last teeth, a part of a turn of them at least if
// so many were followed since the count began.
func (n *Numberer) speedOver(part float64) float64 {
	oldest := n.back(1)
	for i := 2; i < min(n.trailed, len(n.trail)) && n.turned-oldest.turned < part; i++ {
		oldest = n.back(i)
	}
	return (n.turned - oldest.turned) / (n.last.At - oldest.at)
}

// place is a position and by how much the wheel had turned there.
type place struct{ at, turned float64 }

// stepsBy is the number of teeth on from the last, at least 1, by which the wheel
// turned most nearly a part of a turn, and by how much it then did.
func (n *Numberer) stepsBy(part float64) (steps int, turned float64) {
	parts := n.Pattern.Parts
	for {
		next := parts[(n.slot+steps)%len(parts)]
		if steps > 0 && (turned+next-part > part-turned || steps > struckMost) {
			return steps, turned
		}
		turned += next
		steps++
	}
}

// hiddenAt is a tooth like another that lies hidden at a position.
func hiddenAt(m pulses.Mark, at float64) pulses.Mark {
	m.Balance += at - m.At
	m.At = at
	m.PeakV, m.Step = math.NaN(), math.NaN()
	m.Clipped, m.Clean, m.IsNew = false, false, false
	m.Marred = true
	return m
}
