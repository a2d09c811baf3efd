package replay

import (
	"math"
	"slices"

	"armcurve/captures"
)

// reachPitches is how far from a tooth's fall an event may be and still be
// that tooth's.
const reachPitches = 0.3

// settle judges a tooth and all that is nearer to it than to its neighbours; next
// is nil after the last.
func (r *Replay) settle(t, next *passed) {
	nextAt := math.Inf(1)
	if next != nil {
		nextAt = next.at
		t.atLoss = r.standsBefore(next) // what is there of this one may be cut off with it
	}
	t.absent = r.isAbsent(t)
	t.atLoss = t.atLoss || r.before != nil && r.before.absent
	until := (t.at + nextAt) / 2
	n := r.heightsAt(t, nextAt, until)
	if !t.absent && !t.atLoss {
		r.presentV = t.height
	}
	r.slots.add(t, r.before != nil && t.at-r.before.at > 1.5*t.pitch)
	if r.before != nil {
		r.surges.pass(&r.past, r.before, t)
	}
	r.teeth++
	r.leastPitch = min(r.leastPitch, t.pitch)
	if r.o.KeepTeeth && t.seen {
		r.crossings = append(r.crossings, t.at)
	}
	unwanted := false
	for _, in := range r.inputs {
		unwanted = r.judge(in, t, nextAt, until) || unwanted
		in.result.first.pass(r)
		in.result.unknown.pass(r)
	}
	r.arches = r.arches[:copy(r.arches, r.arches[n:])]
	r.tones.tooth(&r.past, t, unwanted, r.info.StepS)
}

// heightsAt notes how high the tooth's arch rose and how high all others did,
// and gives the number of arches that are settled with the tooth.
func (r *Replay) heightsAt(t *passed, nextAt, until float64) int {
	reach := reachPitches * t.pitch
	n := 0
	second := 0.0
	band := &r.waves[bandOf(t.rpm)]
	band.meet(t.rpm)
	for ; n < len(r.arches) && r.arches[n].fall <= until; n++ {
		if a := r.arches[n]; math.Abs(a.fall-t.at) > reach {
			continue
		} else if a.height > t.height {
			second, t.height = t.height, a.height
		} else {
			second = max(second, a.height)
		}
	}
	for _, a := range r.arches[:n] {
		if math.Abs(a.fall-t.at) > reach && !r.isCutTooth(a, t, nextAt) {
			r.unwanted(t, a.height)
		}
	}
	r.unwanted(t, second)
	if !t.absent && !t.atLoss && !r.cutOff(t) {
		band.weakestV = min(band.weakestV, t.height) // though it is hidden
		r.height.tooth(t.height, t.rpm)
		if t.seen {
			band.teeth++
			band.peaksV += t.height
			r.blocks.tooth(t.height, t.other)
		}
	}
	return n
}

// unwanted notes an arch that no event should come from.
func (r *Replay) unwanted(t *passed, heightV float64) {
	if heightV <= 0 {
		return
	}
	t.other = max(t.other, heightV)
	band := &r.waves[bandOf(t.rpm)]
	band.unwantedV = max(band.unwantedV, heightV)
	r.height.other(heightV, t.rpm)
}

// fromHere tells that what is no tooth is held against a table: not in the first turn of a
// wave that begins with the engine running.
func (r *Replay) fromHere(t *passed) bool {
	return r.teeth > int64(r.past.turn) || t.rpm <= r.o.crankingTopRPM()
}

const (
	edgePitches = 4   // nearer to an end of the wave than this, a tooth may have been cut off
	likeATooth  = 0.5 // of the height of the tooth beside it
)

// isCutTooth tells that an arch before the first tooth, or behind the last, may be
// of a tooth that was cut off with the wave, and cannot be judged. In a wave that
// begins with the engine running, the first tooth may have been told late; and where
// it was lost just before its end, too few teeth are left to be told. But where the wheel
// has no tooth none was cut off.
func (r *Replay) isCutTooth(a arch, t *passed, nextAt float64) bool {
	edge := edgePitches * min(t.pitch, 1e9)
	if a.fall < t.at {
		isFirst := r.before == nil && (t.at < edge || t.rpm > r.o.crankingTopRPM())
		return isFirst && (a.start == 0 || r.isLikeTooth(a, t) || r.isOfToothBefore(a, t)) && !r.isBetweenTeeth(a, t, edge)
	}
	end := float64(r.past.end())
	isLast := end-t.at < edge || end-a.fall < edge && t.rpm > r.o.crankingTopRPM()
	return math.IsInf(nextAt, 1) && isLast && r.isLikeTooth(a, t) && !(a.fall < r.past.following()-reachPitches*t.pitch)
}

// isOfToothBefore tells that an arch is the first of all and falls where the tooth before
// the first one did, whose rise the wave has not all.
func (r *Replay) isOfToothBefore(a arch, t *passed) bool {
	teeth := r.past.turn
	if a.start != r.arches[0].start || t.number == 0 || teeth == 0 || !(t.rpm > 0) {
		return false
	}
	at := t.at - r.turnAt(t)*math.Mod(1+r.place(t.number)-r.place((t.number+teeth-2)%teeth+1), 1)
	return at < t.pitch/2 && math.Abs(a.fall-at) < reachPitches*t.pitch
}

// turnAt is how long the wheel takes to turn at a tooth's speed, samples.
func (r *Replay) turnAt(t *passed) float64 {
	return 60 / r.info.StepS * r.o.turnsPerWheel() / t.rpm
}

// isBetweenTeeth tells that an arch up to so many samples before the first tooth falls
// where the wheel that turned surely has none.
func (r *Replay) isBetweenTeeth(a arch, t *passed, within float64) bool {
	w, k := r.laidOut, t.number-1
	if k < 0 || k >= len(w.Positions) || !(t.rpm > 0) || t.at-a.fall > within {
		return false
	}
	turn := r.turnAt(t)
	at := float64(w.Positions[k])/float64(w.Pitches) - (t.at-a.fall)/turn
	return !slices.ContainsFunc(w.Positions, func(position int) bool {
		off := math.Remainder(at-float64(position)/float64(w.Pitches), 1)
		return math.Abs(off)*turn < reachPitches*t.pitch
	})
}

// isLikeTooth tells that an arch is as high as a tooth, and no part of the one
// beside it.
func (r *Replay) isLikeTooth(a arch, t *passed) bool {
	return math.Abs(a.fall-t.at) > reachPitches*t.pitch && a.height >= likeATooth*t.height
}

// cutOff tells that the wave began within the tooth, or may have.
func (r *Replay) cutOff(t *passed) bool {
	return r.before == nil && t.at < t.pitch && !r.isAmidRoom(t)
}

// leastRoom is how many times as long as a tooth's arch the way to the next one is, from
// which the wave stands at rest between them, as between a cam's teeth.
const leastRoom = 4

// isAmidRoom tells that the wave began before a tooth that has room on both sides, and not
// at the end of its fall, where noise may go below rest.
func (r *Replay) isAmidRoom(t *passed) bool {
	reach := reachPitches * t.pitch
	return t.at > reach && slices.ContainsFunc(r.arches, func(a arch) bool {
		return a.start > 0 && a.height == t.height && math.Abs(a.fall-t.at) <= reach && leastRoom*(a.fall-float64(a.start)) < t.pitch
	})
}

// judge settles the events of one input with a tooth; true where one was
// false, or the tooth missed though it usually passes.
func (r *Replay) judge(n *input, t *passed, nextAt, until float64) (unwanted bool) {
	count, own := 0, -1
	nearest := reachPitches * t.pitch
	for ; count < len(n.events) && n.events[count].fall <= until; count++ {
		if d := math.Abs(n.events[count].fall - t.at); d <= nearest && (own < 0 || d < nearest) {
			nearest, own = d, count
		}
	}
	c := Counts{Expected: 1}
	var seen []Instant
	for i := range n.events[:count] {
		e := &n.events[i]
		switch {
		case i == own:
		case r.isCutTooth(e.arch, t, nextAt):
		case !e.speedKnown && t.rpm > r.o.crankingTopRPM():
			c.False++
			f := r.falseFault(n, e, t, nextAt)
			n.result.addEarly(&f)
			r.list(n, f)
		default:
			c.False++
			unwanted = true
			r.keep(n, r.falseFault(n, e, t, nextAt))
		}
		if r.isViewed(n) && !(i != own && r.isCutTooth(e.arch, t, nextAt)) {
			seen = append(seen, r.instant(e, i != own))
		}
	}
	switch {
	case own >= 0:
		c.Counted = 1
		r.onTime(n, &n.events[own], t)
	case r.cutOff(t):
		c.Expected = 0
	default:
		if c.Missed = 1; t.absent {
			c.Missed, c.Unseen = 0, 1
		}
		unwanted = r.missed(n, t, count) || unwanted
	}
	n.result.add(c)
	n.result.bands[bandOf(t.rpm)].add(c)
	if r.isViewed(n) {
		r.view(n, t, seen, own >= 0, c.Expected > 0 && r.fromHere(t))
	}
	n.settle(count)
	return unwanted
}

// onTime notes by how much an input that counts on the rise through the
// threshold is later than one that would count at rest: asin(T/A) of a pitch's
// 360°, in crank degrees.
func (r *Replay) onTime(n *input, e *event, t *passed) {
	if r.o.CountsOn != Level || !(t.height > 0) {
		return
	}
	pitchDeg := t.pitch * r.info.StepS * t.rpm * 6
	shift := math.Asin(min(1, e.thresholdV/t.height)) / (2 * math.Pi) * pitchDeg
	if !math.IsInf(shift, 0) {
		n.result.lagDeg[bandOf(t.rpm)].add(shift)
	}
}

// missed keeps a tooth without an event, with what surrounded it, and tells whether
// something lowered it. count is the number of the input's events that are settled with it.
func (r *Replay) missed(n *input, t *passed, count int) (isLowered bool) {
	thresholdV, _ := n.thresholdAt(t.at)
	f := fault{
		at: t.at, rpm: float32(t.rpm), heightV: float32(t.height), thresholdV: float32(thresholdV),
		tooth: uint16(t.number),
	}
	turnRPM := r.turnRPM(t.rpm)
	level, usualV := r.slots.usual(t)
	f.level, f.partV, f.dip = float32(level), float32(usualV), float32(t.rpm/turnRPM)
	for _, e := range n.events[:count] {
		if math.Abs(e.fall-t.at) < 0.8*t.pitch && e.height > 0.6*usualV && usualV > 0 {
			f.flags |= split
		}
	}
	f.flags |= r.common(t)
	own := n.table.At(turnRPM)
	if own.Known && own.Value < usualV && usualV < thresholdV {
		f.flags |= follows // whatever else: the threshold had been moved beyond the tooth
	}
	switch {
	case t.absent:
		f.flags |= isUnseen
	case !t.seen:
		f.flags |= collapsed
	case f.is(split):
	case usualV > 0 && t.height < 0.5*usualV:
		f.flags |= collapsed
	case own.Known && t.height > own.Value:
		f.flags |= follows
	default:
		if topV, is := r.flatTop(t); is {
			f.flags |= flatTop
			f.partV = float32(topV)
		}
	}
	if f.isLost() {
		r.vanish(n, t)
		if r.swings(t) {
			f.flags |= hidden
		}
	}
	r.keep(n, f)
	return f.isLowered()
}

// isAbsent tells that the wave itself does not have a tooth: that it stands still
// where it should rise, or does not swing as teeth do. Where it does, the tooth is
// hidden by something else.
func (r *Replay) isAbsent(t *passed) bool {
	if t.seen {
		return r.standsBefore(t)
	}
	return !r.swings(t)
}

// fewestPerPitch is the number of samples in a pitch under which a wave is too coarse.
const fewestPerPitch = 6

// standsBefore tells that the wave stands still over the half pitch before a tooth's
// fall: by what that tooth usually makes of it, or as long as this is not known by
// the last one that the wave had whole. At the height of a tooth it is one that is cut off.
func (r *Replay) standsBefore(t *passed) bool {
	if t.pitch < fewestPerPitch {
		return false // a sample or two tell nothing
	}
	_, usualV := r.slots.usual(t)
	if usualV == 0 && t.number > 0 && !t.unplaced {
		usualV = r.presentV
	}
	lowV, highV := r.past.ends(t.at-t.pitch/2, t.at)
	return highV-lowV < stillShare*usualV && lowV < (1-stillShare)*usualV
}

// swings tells that the wave about a tooth goes as far, up or down, as half the
// tooth's usual height, and stands still neither before the tooth nor behind.
func (r *Replay) swings(t *passed) bool {
	_, usualV := r.slots.usual(t)
	if usualV <= 0 || math.IsInf(t.pitch, 1) {
		return false
	}
	lowV, highV := r.past.ends(t.at-t.pitch/2, t.at)
	low2V, high2V := r.past.ends(t.at, t.at+t.pitch/2)
	return max(highV, high2V, -lowV, -low2V) > usualV/2 && min(highV-lowV, high2V-low2V) > stillShare*usualV
}

// stillShare is the part of a tooth's usual height by which a wave that stands
// still may move.
const stillShare = 0.3

// vanish marks false events just before a tooth that the wave lost.
func (r *Replay) vanish(n *input, t *passed) {
	r.vanishedAt = t.at
	list := n.result.faults.list
	for i := len(list) - 1; i >= 0 && list[i].at > t.at-2*t.pitch; i-- {
		if list[i].is(isFalse) {
			list[i].flags |= besideDip
		}
	}
}

// common are the flags that depend on the tooth alone.
func (r *Replay) common(t *passed) flags {
	if t.pitch < fewestPerPitch {
		return coarse
	}
	return 0
}

// falseFault is an event without a tooth, with what surrounded it. t is the tooth
// nearest to it.
func (r *Replay) falseFault(n *input, e *event, t *passed, nextAt float64) fault {
	f := fault{
		at: e.fall, rpm: float32(t.rpm), heightV: float32(e.height), thresholdV: float32(e.thresholdV),
		width: float32((e.fall - float64(e.start)) / t.pitch), flags: isFalse | r.common(t), tooth: uint16(t.number),
	}
	before, after := t.at, nextAt
	if e.fall < t.at {
		before, after = math.Inf(-1), t.at
		if r.before != nil {
			before = r.before.at
			f.tooth = uint16(r.before.number)
		}
	}
	if part := (e.fall - before) / (after - before); part-part == 0 {
		f.part, f.peakPart = float32(part), float32((float64(e.peakAt)-before)/(after-before))
	}
	switch {
	case math.Abs(e.fall-t.at) > 2*edgePitches*t.pitch:
		f.flags |= standing
		f.rpm = 0
	case after-before > 1.5*t.pitch:
		f.flags |= inGap
	}
	if r.vanishedAt > 0 && e.fall-r.vanishedAt < 2*t.pitch {
		f.flags |= besideDip
	}
	if own := n.table.At(r.turnRPM(t.rpm)); e.speedKnown && own.Known && e.height <= own.Value {
		f.flags |= follows
	}
	r.lockedPart(&f, e, t)
	if f.is(inGap) {
		f.level = float32(r.past.newWidth(float64(e.peakAt)) / t.pitch)
		f.back = float32(r.past.goesBack(&e.arch))
	}
	return f
}

// lockedPart tells how much of a false event is there turn by turn. Where a
// tooth's own arch ended early it is the end that is asked for, not the height.
func (r *Replay) lockedPart(f *fault, e *event, t *passed) {
	_, usualV := r.slots.usual(t)
	if d := t.at - e.fall; d > 0 && d < 0.5*t.pitch && usualV > 0 && e.height > 0.6*usualV {
		f.flags |= split
		switch then := r.past.locked(e.fall + 1); {
		case then <= 0:
			f.partV = f.heightV
		case then != then:
			f.partV = float32(then)
		}
		return
	}
	f.partV = float32(r.past.locked(float64(e.peakAt)))
}

// turnRPM is the mean speed over the turn before the latest tooth.
func (r *Replay) turnRPM(otherwise float64) float64 {
	p := &r.past
	last := len(p.teeth) - 1
	if p.turn == 0 || last < p.turn {
		return otherwise
	}
	length := p.teeth[last].at - p.teeth[last-p.turn].at
	return 60 / r.info.StepS * r.o.turnsPerWheel() / length
}

// keep adds a fault to those of an input that have a cause.
func (r *Replay) keep(n *input, f fault) {
	n.result.faults.add(f, int64(bytesPerTooth-r.o.KeptPerTooth)*r.teeth)
	n.result.first.meet(&f)
	told := r.list(n, f)
	if r.isViewed(n) {
		r.examples.add(&f, told)
	}
}

// list adds a fault to the list of events, if that is wanted.
func (r *Replay) list(n *input, f fault) Event {
	told := Event{
		TimeS: r.info.StartS + f.at*r.info.StepS, False: f.is(isFalse), Unseen: f.is(isUnseen), Tooth: int(f.tooth), RPM: float64(f.rpm),
		SignalV: float64(f.heightV), ThresholdV: captures.Finite(float64(f.thresholdV)), part: f.part,
	}
	if r.o.KeepEvents {
		n.result.events = append(n.result.events, told)
	}
	return told
}

// isViewed tells whether someone follows an input.
func (r *Replay) isViewed(n *input) bool { return r.o.View != nil && n == r.inputs[0] }

// crankDeg is the crank angle of a place, a part of the way from a tooth to the
// next, from the first tooth after the longest gap, within the wheel's turn;
// unknown where the wheel is.
func (r *Replay) crankDeg(tooth int, part float32) captures.Maybe {
	w := r.wheel
	k := tooth - 1
	switch {
	case k < 0 || k >= w.TeethPresent():
		return captures.Maybe{}
	case w.Pitches == 0:
		next := 360*r.o.turnsPerWheel() + w.AnglesDeg[0]
		if k+1 < len(w.AnglesDeg) {
			next = w.AnglesDeg[k+1]
		}
		return captures.Some(w.AnglesDeg[k] + float64(part)*(next-w.AnglesDeg[k]) - w.AnglesDeg[0])
	}
	next := w.Pitches
	if k+1 < len(w.Positions) {
		next = w.Positions[k+1]
	}
	place := float64(w.Positions[k]) + float64(part)*float64(next-w.Positions[k])
	return captures.Some(place * w.PitchDeg() * r.o.turnsPerWheel())
}
