// Package numbering tells which tooth of the wheel each pulse of a wave is. Pulses wait
// until they show the wheel (package wheels); then its phase is followed (numberer.go): by
// its speed alone among pulses that something struck (struck.go), beside pulses of noise
// in its gaps (gappulses.go), and over holes in the wave (hole.go), which rows of marks on
// either side are placed across (row.go, bridge.go), at the beginning as well (opening.go).
package numbering

import (
	"math"

	"armcurve/captures/teeth/median"
	"armcurve/captures/teeth/pulses"
	"armcurve/captures/teeth/wheels"
)

// Tooth is a tooth with its place on the wheel.
type Tooth struct {
	pulses.Mark
	Slot     int     // 0 for the first after the longest gap; −1 not known
	Seen     bool    // false: the wheel has a tooth here, the wave has none
	Fresh    bool    // the count starts anew here
	Smooth   float64 // its time by those of the teeth about it; 0 where there is none
	Turned   float64 // turns of the wheel up to it
	TurnTime float64 // since the same tooth passed a turn before, by those of the teeth about it
}

// Numberer tells which tooth of the wheel each mark is. Until the order of the
// gaps is clear it keeps the marks; afterwards it follows the wheel's phase.
type Numberer struct {
	wheels.Recogniser
	StepS float64
	Crawl float64 // turns per sample up to which teeth may be too weak to be seen
	Out   func(Tooth)
	Found func(*wheels.Pattern) // is told the wheel before its first tooth

	Pattern *wheels.Pattern // nil as long as it is not known
	early   []pulses.Mark   // short runs before the wave was lost, for what comes behind to place them
	Pending []pulses.Mark   // that wait for the wheel
	tries   int
	given   bool // no pattern will be found any more

	slot       int
	last       pulses.Mark
	lengths    []float64 // of each interval a turn ago, samples; 0 not known
	speed      float64   // parts of a turn per sample over the last interval
	trend      float64   // ratio of the last two speeds
	widths     float64   // of two pulses side by side in a turn of the wheel, of late; 0 not known
	misfits    float64   // marks that fitted badly of late
	moved      bool      // the count was shifted
	gap        gap
	held       *pulses.Mark  // came too early: wait for the next to tell
	collecting bool          // after a restart: pending until a turn is there
	recheck    []pulses.Mark // since the count was compared with others
	since      int           // slot of the first of them

	waiting []pulses.Mark // until it is clear what struck them
	reach   float64       // how far the wave usually goes from rest
	strays  float64       // mean deviation from that, as a part of it
	steps   float64       // mean size of a mark's step
	offs    float64       // mean distance of falls from where an even turning has them, pitches
	turned  float64       // turns since the count began
	trail   []place       // turns and positions of the teeth of the last turn, a ring
	trailed int           // their number since the count began

	hole *hole // where the wave was lost, until it tells where it goes on

	lostAt, lostSpeed float64 // where the wave was lost, and how fast the wheel turned
	lostSlot          int

	Unseen, dropped, restarts int64
	FirstUnseen               float64 // position after which the first was missed
	IsGone                    bool    // the wave was lost and did not come again
}

// tryAt are the numbers of marks at which a pattern is looked for.
var tryAt = [...]int{12, 40, 80, 130, 200, 300, 500, 800, 1300, 2000, 3000, 4500, 7000}

// triedMost is the number of latest marks that a pattern is looked for in.
const triedMost = 2000

func (n *Numberer) Add(m pulses.Mark) {
	switch {
	case n.Pattern != nil:
		n.count(m)
	case n.given:
		n.emit(Tooth{Mark: m, Slot: -1, Seen: true, Fresh: m.IsNew})
	default:
		if m.IsNew && len(n.Pending) < shortRun {
			n.setAside()
		}
		n.Pending = append(n.Pending, m)
		if n.tries < len(tryAt) && len(n.Pending) >= tryAt[n.tries] {
			n.tries++
			n.infer(n.tries == len(tryAt))
		}
	}
}

// shortRun is the number of marks under which a run shows no wheel that turns.
const shortRun = 12

// Turn is the number of teeth in a turn, as stated until the wave tells; 0
// where neither does.
func (n *Numberer) Turn() int {
	switch {
	case n.Pattern != nil:
		return len(n.Pattern.Parts)
	case n.given || n.Differs:
		return 0
	}
	return n.Stated.TeethPresent()
}

// Uneven tells that the wheel is known to have its teeth at uneven angles.
func (n *Numberer) Uneven() bool { return n.Pattern != nil && n.Pattern.Wheel.Pitches == 0 }

// End takes what is left when the wave is over, at a position.
func (n *Numberer) End(at float64) {
	if n.Pattern == nil && !n.given {
		n.infer(true)
	}
	n.drain()
	for n.collecting || n.hole != nil {
		n.placeCollected()
		if n.hole != nil {
			n.close(true)
		}
		n.drain()
	}
	if n.held != nil {
		n.dropped++
		n.held = nil
	}
	n.loseUpTo(at)
}

// flush gives up the pending marks without numbers.
func (n *Numberer) flush() {
	n.flushEarly()
	n.giveUp(n.Pending)
	n.Pending = n.Pending[:0]
}

func (n *Numberer) flushEarly() {
	n.giveUp(n.early)
	n.early = nil
}

func (n *Numberer) giveUp(marks []pulses.Mark) {
	for _, m := range marks {
		n.emit(Tooth{Mark: m, Slot: -1, Seen: true, Fresh: m.IsNew})
	}
}

func (n *Numberer) emit(p Tooth) {
	if n.Out != nil {
		n.Out(p)
	}
}

// infer looks for a pattern in the pending marks; last means that no more will
// be waited for.
func (n *Numberer) infer(last bool) {
	latest := n.latestRun()
	run := wheels.Swinging(latest[max(0, len(latest)-triedMost):])
	p := n.Choose(run, last)
	for p == nil && len(run) >= 2*wheels.EnoughApart {
		// The beginning may be too noisy, where the engine was slow. A part alone
		// has to show the wheel: nothing is made of it for want of more.
		run = run[len(run)/2:]
		p = n.Choose(run, false)
	}
	if p != nil {
		if n.Kept != nil {
			n.Pending = n.Kept
		}
		n.start(p)
		return
	}
	if last {
		n.given = true
		n.flush()
		n.Pending = nil
	}
}

// latestRun are the pending marks since the wave was last lost.
func (n *Numberer) latestRun() []pulses.Mark {
	for i := len(n.Pending) - 1; i > 0; i-- {
		if n.Pending[i].IsNew {
			return n.Pending[i:]
		}
	}
	return n.Pending
}

// start numbers the pending marks by a pattern and follows it from there.
func (n *Numberer) start(p *wheels.Pattern) {
	n.Pattern = p
	n.trail = make([]place, len(p.Parts)+trailLen)
	n.Found(p)
	pending := n.Pending
	n.Pending = nil
	pending = n.startWithEarly(pending)
	i := 0
	for i < len(pending) && n.trailed == 0 {
		end := i + 1
		for end < len(pending) && !pending[end].IsNew {
			end++
		}
		n.startRun(pending[i:end])
		i = end
	}
	for _, m := range pending[i:] {
		n.count(m)
	}
}

// startRun places a run of marks on the wheel by the evenness of its turning, and by
// what the lobes tell of it.
func (n *Numberer) startRun(run []pulses.Mark) {
	if len(run) < min(len(n.Pattern.Parts)+1, 8) {
		for _, m := range run {
			n.emit(Tooth{Mark: m, Slot: -1, Seen: true, Fresh: true})
		}
		return
	}
	known := run
	if n.Pattern.Foreign > 0 {
		known = n.Pattern.WithoutForeign(known)
	} else {
		known = n.Pattern.WithoutFills(known)
	}
	in := wheels.NewIntervals(known[:min(len(known), wheels.AlignTurns*len(n.Pattern.Parts)+1)])
	first, misfit := n.Pattern.Place(in)
	if a, ok := n.Pattern.Begins(run, misfit); ok {
		n.leaveBefore(run, a.Index)
		run = run[a.Index:]
		known, first = run, a.Slot
		in = wheels.NewIntervals(known[:min(len(known), len(n.Pattern.Parts)+1)])
	}
	n.speed = n.Pattern.Parts[first] / in.Lengths[0]
	n.bridge(known[0].At, first, n.Pattern.UsualSpeed(in.Lengths, first))
	n.begin(known[0], first)
	n.learnLengths(in.Lengths, first)
	for _, m := range run {
		switch {
		case m.At > known[0].At:
			n.count(m)
		case m.At < known[0].At:
			n.dropped++
		}
	}
}

// leaveBefore gives up the marks of a run before one, of which the faint ones are no teeth.
func (n *Numberer) leaveBefore(run []pulses.Mark, index int) {
	flux := make([]float64, len(run))
	for i, m := range run {
		flux[i] = m.Swing
	}
	usual := median.Of(flux)
	for _, m := range run[:index] {
		if m.Swing < faint*usual {
			n.dropped++
		} else {
			n.emit(Tooth{Mark: m, Slot: -1, Seen: true, Fresh: true})
		}
	}
}

// bridgeMostS is how long a wave may be lost for the wheel surely to have turned
// on: within it no engine stops and is cranked again.
const bridgeMostS = 1

// bridge counts the teeth that passed while the wave was lost, where the wheel
// turned on: it did if it turns about as fast soon afterwards.
func (n *Numberer) bridge(at float64, slot int, speed float64) {
	if n.lostSpeed > 0 && !n.crawls(n.lostSpeed) && math.Abs(math.Log(speed/n.lostSpeed)) < 0.4 && (at-n.lostAt)*n.StepS < bridgeMostS {
		turned := (at - n.lostAt) * math.Sqrt(speed*n.lostSpeed)
		n.slot = n.lostSlot
		n.pass(at, n.Pattern.StepsTo(n.lostSlot, slot, turned), unbent)
	}
	n.lostSpeed = 0
}

// crawls tells that a speed is so far below cranking that the teeth are too weak
// to be seen: an engine that begins to turn, or comes to rest.
func (n *Numberer) crawls(speed float64) bool { return speed < n.Crawl }

// pass emits the teeth, all but the last of so many steps on from the last mark,
// that the wave does not show up to a position; and tells by how much of a turn
// the wheel has turned.
func (n *Numberer) pass(at float64, steps int, over bend) (turned float64) {
	parts := n.Pattern.Parts
	for i := range steps {
		turned += parts[(n.slot+i)%len(parts)]
	}
	done := 0.0
	for i := range steps - 1 {
		done += parts[(n.slot+i)%len(parts)]
		missing := Tooth{Slot: (n.slot + i + 1) % len(parts)}
		missing.Mark = n.last
		missing.At = n.last.At + (at-n.last.At)*over.at(done/turned)
		missing.PeakV = math.NaN()
		n.miss(n.last.At)
		n.emit(missing)
	}
	return turned
}

// lose notes where the wave ends for now. The last pulse may be a part of one,
// so the speed is that of the last turn.
func (n *Numberer) lose() {
	n.lostAt, n.lostSlot, n.lostSpeed = n.last.At, n.slot, n.speed
	if speed := n.Pattern.UsualSpeed(n.lengths, 0); speed > 0 {
		n.lostSpeed = speed
	}
}

// miss counts a tooth that the wave does not show.
func (n *Numberer) miss(after float64) {
	if n.Unseen == 0 {
		n.FirstUnseen = after
	}
	n.Unseen++
}

// learnLengths takes the usual length of each interval from the first of a run.
func (n *Numberer) learnLengths(samples []float64, first int) {
	parts := len(n.Pattern.Parts)
	n.lengths = make([]float64, parts)
	for j := range parts {
		var same []float64
		for i := (j - first + parts) % parts; i < len(samples); i += parts {
			same = append(same, samples[i])
		}
		if len(same) > 0 {
			n.lengths[j] = median.Of(same)
		}
	}
}

func (n *Numberer) begin(m pulses.Mark, slot int) {
	n.slot, n.last, n.trend, n.misfits, n.held = slot, m, 1, 0, nil
	n.compareFrom(m)
	n.turned, n.trailed, n.gap = 0, 0, gap{}
	n.leave(m)
	n.emit(Tooth{Mark: m, Slot: slot, Seen: true, Fresh: true})
}

const (
	early         = 0.62 // of the interval that is due: no tooth
	doubtfulEarly = 0.85 // none if it is weak
	late          = 1.55 // at least one tooth was not seen
	misfitsMost   = 5    // badly fitting marks after which the count starts anew
)

// leave notes where a tooth was in the turning of the wheel.
func (n *Numberer) leave(m pulses.Mark) {
	n.trail[n.trailed%len(n.trail)] = place{m.At, n.turned}
	n.trailed++
}

// count takes the next mark, the wheel being known.
func (n *Numberer) count(m pulses.Mark) {
	switch {
	case m.IsNew && n.hole == nil && !n.collecting && n.bridges():
		n.open(m)
	case m.IsNew || n.collecting || n.hole != nil:
		n.drain()
		n.take(m)
	default:
		n.queue(m)
	}
}

// take takes the next mark as it is.
func (n *Numberer) take(m pulses.Mark) {
	switch {
	case n.hole != nil:
		n.keep(m)
	case n.collecting:
		n.collect(m)
	default:
		n.follow(m)
	}
}

// follow puts a mark into the phase of the wheel.
func (n *Numberer) follow(m pulses.Mark) {
	if m.IsNew {
		// The wave was lost, and with it the count.
		n.restart(m)
		return
	}
	if n.held != nil {
		n.settleHeld(m)
		return
	}
	if n.isForeign(m) {
		n.dropped++
		return
	}
	q := n.ratio(m)
	isDoubtful := q < doubtfulEarly || !n.Pattern.Regular(n.slot)
	switch {
	case isDoubtful && n.isTooSoon(m):
		n.passOver(m)
	case isDoubtful && n.isDue(m):
		n.accept(m, 1)
	case q < early || q < doubtfulEarly && n.isWeak(m):
		held := m
		n.held = &held
	case q < late:
		n.accept(m, 1)
	default:
		n.skip(m)
	}
}

// isWeak tells that a mark is clearly weaker than the last tooth; where teeth are
// missing, something else is expected sooner.
func (n *Numberer) isWeak(m pulses.Mark) bool {
	if n.Pattern.Regular(n.slot) {
		return m.Swing < 0.6*n.last.Swing
	}
	return m.Swing < wheels.WeakAtMost*n.last.Swing
}

// ratio compares the interval from the last tooth to a mark with the one that
// is due, by the speed of the last interval, the same with its trend, or the
// length of this interval a turn ago: compression makes an engine slow down and
// run again within a few teeth, but at like angles in each turn.
func (n *Numberer) ratio(m pulses.Mark) float64 {
	length := m.At - n.last.At
	part := n.Pattern.Parts[n.slot]
	steady := length * n.speed / part
	best := closerToOne(steady, steady*max(0.8, min(1.25, math.Sqrt(n.trend))))
	if before := n.lengths[n.slot]; before > 0 {
		best = closerToOne(best, length/before)
	}
	return best
}

// closerToOne is the one of two positive ratios that is closer to 1.
func closerToOne(a, b float64) float64 {
	if max(a, 1/a) <= max(b, 1/b) {
		return a
	}
	return b
}

// settleHeld decides about a mark that came too early, now that the next has
// come: where that one fits by itself and the early one is weaker than a tooth,
// it was none. A strong one means that the count is wrong.
func (n *Numberer) settleHeld(m pulses.Mark) {
	held := *n.held
	n.held = nil
	if q := n.ratio(m); q >= early && q < late && held.Swing < 0.8*m.Swing {
		n.dropped++
		n.misfits += 0.5
		n.accept(m, 1)
		return
	}
	n.restart(held)
	n.collect(m)
}

// skip passes over teeth that the wave does not show, by the speed over the last interval;
// or by that over more teeth where the wheel turns evenly, since noise moves each of them.
func (n *Numberer) skip(m pulses.Mark) {
	parts := n.Pattern.Parts
	if n.isSlow(m) {
		n.accept(m, 1)
		return
	}
	turned := (m.At - n.last.At) * n.speed
	evenly, isEven := n.turnedEvenly(m.At)
	if isEven {
		turned = evenly
	}
	due, steps := parts[n.slot], 1
	best, bestSteps := math.Abs(math.Log(turned/due)), 1
	for due < 1.6*turned && steps < 2*len(parts) {
		due += parts[(n.slot+steps)%len(parts)]
		steps++
		if miss := math.Abs(math.Log(turned / due)); miss < best {
			best, bestSteps = miss, steps
		}
	}
	if isEven && bestSteps == 1 {
		n.accept(m, 1)
		return
	}
	if n.misfits++; n.misfits > misfitsMost || n.crawls(n.speed) {
		n.restart(m)
		return
	}
	n.accept(m, bestSteps)
}

// isSlow tells that a mark comes late because the wheel slows down, as the pulses' own
// widths tell.
func (n *Numberer) isSlow(m pulses.Mark) bool {
	return n.widths > 0 && n.inWidths(m)/n.widths < late*n.Pattern.Parts[n.slot]
}

// accept takes a mark as the tooth so many steps on.
func (n *Numberer) accept(m pulses.Mark, steps int) { n.acceptOver(m, steps, unbent) }

// acceptOver does so where the speed changed over the steps.
func (n *Numberer) acceptOver(m pulses.Mark, steps int, over bend) {
	length := m.At - n.last.At
	n.leaveGap(m, steps)
	turned := n.pass(m.At, steps, over)
	if steps == 1 {
		n.lengths[n.slot] = length
		n.learnWidths(m)
	} else {
		clear(n.lengths)
	}
	speed := turned / length
	if n.speed > 0 {
		n.trend = speed / n.speed
	}
	n.speed = speed
	n.slot, n.last = (n.slot+steps)%len(n.Pattern.Parts), m
	n.turned += turned
	n.leave(m)
	n.check(m, steps)
	n.emit(Tooth{Mark: m, Slot: n.slot, Seen: true, Fresh: n.moved})
	n.moved = false
	n.misfits = max(0, n.misfits-0.2)
}

const (
	unevenly = 0.004 // mean square of the changes of speed, in logarithms, from which a count may be wrong
	fitsWell = 0.25  // times the misfit: another count is the right one
)

// check compares, about once a turn, the count with every other one.
func (n *Numberer) check(m pulses.Mark, steps int) {
	parts := n.Pattern.Parts
	if steps != 1 {
		n.compareFrom(m)
		return
	}
	n.recheck = append(n.recheck, m)
	if len(n.recheck) <= max(len(parts)+2, 6) || len(parts) == 1 {
		return
	}
	if n.Pattern.FitCost(wheels.Lengths(n.recheck), n.since) > unevenly {
		in := wheels.NewIntervals(n.recheck)
		first, misfit := n.Pattern.Place(in)
		if misfit < fitsWell*n.Pattern.Misfit(in, n.since) && first != n.since {
			n.slot = (n.slot + first - n.since + len(parts)) % len(parts)
			n.speed = parts[(n.slot+len(parts)-1)%len(parts)] / in.Lengths[len(in.Lengths)-1]
			n.trend = 1
			n.moved = true
			n.restarts++
		}
	}
	n.compareFrom(m)
}

// compareFrom begins to gather what the count is compared by.
func (n *Numberer) compareFrom(m pulses.Mark) { n.recheck, n.since = append(n.recheck[:0], m), n.slot }

// restart begins a new count after the wave was lost: the marks are kept until
// a turn of them tells where on the wheel they are.
func (n *Numberer) restart(m pulses.Mark) {
	if n.held != nil {
		n.dropped++
		n.held = nil
	}
	n.placeCollected()
	if m.IsNew {
		n.lose()
	}
	n.collecting = true
	n.Pending = append(n.Pending[:0], m)
	n.restarts++
}

// collect keeps a mark after a restart until there are enough.
func (n *Numberer) collect(m pulses.Mark) {
	if m.IsNew {
		n.restart(m)
		return
	}
	n.Pending = append(n.Pending, m)
	if len(n.Pending) >= len(n.Pattern.Parts)+4 {
		n.placeCollected()
	}
}

func (n *Numberer) placeCollected() {
	if !n.collecting {
		return
	}
	n.collecting = false
	run := n.Pending
	n.Pending = nil
	n.startRun(run)
	n.drain() // what comes next may not come by the queue
}

// WaitsFrom is the position of the first mark that waits to be numbered; not ok where none
// does.
func (n *Numberer) WaitsFrom() (at float64, ok bool) {
	switch {
	case len(n.early) > 0:
		return n.early[0].At, true
	case len(n.Pending) > 0:
		return n.Pending[0].At, true
	}
	return 0, false
}

// IsPlacing tells that the wheel is not known, or its place is lost: marks are kept until
// they tell it.
func (n *Numberer) IsPlacing() bool { return n.Pattern == nil || n.collecting }

// within tells that neither of two is more than a number of times the other.
func within(a, b, times float64) bool { return a < times*b && b < times*a }
