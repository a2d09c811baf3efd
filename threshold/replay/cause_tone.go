package replay

import (
	"fmt"
	"math"
	"sort"
)

const (
	leastLine  = 0.3  // share of a turn's unlike part that a tone must hold
	leastTone  = 0.25 // amplitude beside the height of the false events, or by how much teeth are lowered
	sameTone   = 0.02 // relative difference of one and the same
	mostOfTone = 1.5  // what may be the tone's beyond its line, by the shifts of the teeth it makes
)

// studyFixedTone: a tone of one frequency whatever the speed. Without it: its
// amplitude taken off.
func studyFixedTone(q *inquiry) opinion {
	hz, fixed, order, locked := q.tone()
	o := q.toneOpinion(fixed >= locked && fixed > 0)
	o.excluded = q.toneExcluded()
	if fixed > 0 {
		o.excluded = fmt.Sprintf("%s of the turns looked at have the same frequency, %.0f Hz, %s the same ratio to speed, %.2f per turn", percent(fixed), hz, percent(locked), order)
	}
	o.evidence = func(h hits) string {
		return fmt.Sprintf("a tone of %.0f Hz and about %s at any speed, over a threshold of %s, %s", hz, volts(q.toneV(h)), volts(h.median(thresholdOf)), h.between())
	}
	o.advice = "Look for what makes this frequency, a converter, pump or lamp: switch them off one by one while recording"
	o.not = "Do not raise the table for what a filter or a screen takes away"
	return o
}

// studySpeedTone: a tone at a fixed ratio to speed that is no whole number per
// turn, such as an alternator's. Without it: its amplitude taken off.
func studySpeedTone(q *inquiry) opinion {
	_, fixed, order, locked := q.tone()
	o := q.toneOpinion(locked > fixed)
	o.excluded = q.toneExcluded()
	if locked > 0 {
		o.excluded = fmt.Sprintf("%s of the turns looked at have a tone of the same ratio to speed, %.2f per turn", percent(locked), order)
	}
	o.evidence = func(h hits) string {
		return fmt.Sprintf("a tone of %.2f cycles per turn and about %s, over a threshold of %s, %s: a ratio to speed that is no whole number", order, volts(q.toneV(h)), volts(h.median(thresholdOf)), h.between())
	}
	o.advice = "Look at what turns with the engine by a belt: take the load off the alternator, then its belt off, and record again"
	o.not = "Do not take it for ignition: it has no fixed place on the crank"
	return o
}

func (q *inquiry) toneExcluded() string {
	if len(q.tones.lines) == 0 {
		return "no turn with a false event, or a tooth lower than usual, could be looked at"
	}
	top := 0.0
	for _, l := range q.tones.lines {
		top = max(top, l.share())
	}
	return fmt.Sprintf("%d turns with faults looked at; the strongest tone in one holds %s of what the turns before have not", len(q.tones.lines), percent(top))
}

// toneOpinion explains the false events that a tone's amplitude lifts over the
// threshold, and the misses of teeth that rise beyond it otherwise, but not with the tone
// against them.
func (q *inquiry) toneOpinion(is bool) opinion {
	if !is {
		return opinion{}
	}
	return opinion{explains: func(f *fault) bool {
		if f.is(standing) || !f.is(isFalse) && !f.isLowered() {
			return false
		}
		if f.isLowered() {
			return float64(f.heightV)+q.toneAt(f) > float64(f.thresholdV)
		}
		return f.is(split) && !(f.partV > 0.5*f.heightV) || float64(f.heightV)-q.toneAt(f) <= float64(f.thresholdV)
	}}
}

func (l *line) share() float64 { return max(l.inTime, l.byAngle) }

// strongLines lists the lines that stand out and matter.
func (q *inquiry) strongLines() []line {
	moved := q.which(func(f *fault) bool { return f.is(isFalse) && !f.is(split) || f.isLowered() })
	if len(moved) == 0 {
		return nil
	}
	var list []line
	for _, l := range q.tones.lines {
		if l.share() >= leastLine && l.amplitudeV >= leastTone*nearest(moved, l.at) {
			list = append(list, l)
		}
	}
	return list
}

// byV is how high a false event is, or by how much a missed tooth is lower than usual.
func (f *fault) byV() float64 {
	if f.is(isFalse) {
		return float64(f.heightV)
	}
	return float64(f.partV - f.heightV)
}

// nearest is that of the fault nearest to a position.
func nearest(h hits, at float64) float64 {
	best, byV := math.Inf(1), 0.0
	for _, f := range h {
		if d := math.Abs(f.at - at); d < best {
			best, byV = d, f.byV()
		}
	}
	return byV
}

// tone is the frequency and the order that most strong lines have, each with
// the share of all lines that have it; nothing where too few are strong.
func (q *inquiry) tone() (hz, fixed, order, locked float64) {
	list := q.strong
	all := float64(len(q.tones.lines))
	if len(list) < 3 || float64(len(list)) < 0.4*all {
		return 0, 0, 0, 0
	}
	var inHz, inOrder []float64
	for _, l := range list {
		inHz = append(inHz, l.hz)
		inOrder = append(inOrder, l.order)
	}
	hz, fixed = commonest(inHz)
	order, locked = commonest(inOrder)
	return hz, fixed / all, order, locked / all
}

// commonest is the value that most others are near to, and their number.
func commonest(v []float64) (value, count float64) {
	sort.Float64s(v)
	from := 0
	for to := range v {
		for v[from] < v[to]*(1-sameTone) {
			from++
		}
		if n := float64(to - from + 1); n > count {
			count, value = n, v[(from+to)/2]
		}
	}
	return value, count
}

// toneAt is the tone's amplitude about a fault.
func (q *inquiry) toneAt(f *fault) float64 {
	best, amplitudeV := math.Inf(1), 0.0
	for _, l := range q.strong {
		if d := math.Abs(l.at - f.at); d < best {
			best = d
			amplitudeV = min(math.Sqrt(l.amplitudeV*l.amplitudeV+2*l.restV*l.restV), mostOfTone*l.amplitudeV)
		}
	}
	return amplitudeV
}

func (q *inquiry) toneV(h hits) float64 { return h.median(q.toneAt) }
