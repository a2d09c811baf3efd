package replay

import (
	"fmt"
	"math"
	"strings"
)

// leastAlone is the share of the misses beside a tooth of the cam that had none beside them
// a turn before: what is missed in every turn is the crank's own.
const leastAlone = 0.2

// studyCrossTalk: faults go with the teeth of another sensor.
func studyCrossTalk(q *inquiry) opinion {
	o := opinion{
		advice: "Part the two sensors' wires, or use screened ones, earthed at one end",
		not:    "Do not change the table before the wiring is right",
	}
	if q.facts.Copied != "" {
		return q.copied(o)
	}
	if len(q.facts.Other) < 3 {
		return q.ofTheCam(o)
	}
	events := q.withTeeth(q.falseEvents())
	if events.close() {
		return q.coupledIn(o)
	}
	missed := q.withOther(q.which(func(f *fault) bool { return !f.is(isFalse) }), besideMiss)
	o.excluded = fmt.Sprintf("%s of the false events and %s of the teeth missed are at a tooth of the %s sensor, one of which has them in %s of its passages",
		percent(events.share()), percent(missed.share()), q.facts.OtherName, percent(max(events.covered, missed.covered)))
	missed.is = missed.is && missed.alone >= max(leastFaults, leastAlone*missed.near)
	if !events.is && !missed.is {
		return o
	}
	o.explains = func(f *fault) bool {
		if f.is(isFalse) {
			return events.is
		}
		return missed.is && q.isBeside(q.middle(f), f, besideMiss) || events.is && f.is(split)
	}
	o.evidence = func(h hits) string {
		text := fmt.Sprintf("come at the same place of the %s sensor's teeth, %s, in up to %s of a tooth's passages", q.facts.OtherName, h.between(), percent(max(events.covered, missed.covered)))
		switch {
		case !missed.is:
			return fmt.Sprintf("false events of up to %s %s", volts(h.highest()), text)
		case !events.is:
			return "misses " + text + ", and not where that sensor has no tooth"
		}
		return "misses and false events " + text
	}
	return o
}

// copied is the cause where most of what the wave shows are the other sensor's teeth:
// these are what is counted beside the own, and what hides those.
func (q *inquiry) copied(o opinion) opinion {
	o.explains = func(f *fault) bool { return !f.is(standing) }
	o.evidence = func(h hits) string {
		return fmt.Sprintf("%s; %s of up to %s, %s", q.facts.Copied, counted(len(h), "fault"), volts(h.highest()), h.between())
	}
	return o
}

// falseEvents are all of them, with those before the first speed.
func (q *inquiry) falseEvents() hits {
	var list hits
	for i := range q.early {
		list = append(list, &q.early[i])
	}
	return append(list, q.which(func(f *fault) bool { return f.is(isFalse) })...)
}

// coupledIn takes the part of the wave off that follows the other sensor's.
func (q *inquiry) coupledIn(o opinion) opinion {
	c := couple(q.strips, q.facts.OtherWave, q.facts.Teeth, q.facts.Other)
	if c == nil {
		o.excluded = "too little of both waves was kept to tell what one has of the other"
		return o
	}
	met, gone := 0, 0
	vanishes := func(f *fault) (is, ok bool) {
		if !f.is(isFalse) || f.is(standing) {
			return false, true
		}
		return c.explains(f, q.o.HysteresisV/2)
	}
	for _, f := range q.falseEvents() {
		if is, ok := vanishes(f); ok {
			met++
			if is {
				gone++
			}
		}
	}
	o.excluded = fmt.Sprintf("take out what follows the %s sensor's wave and its rate of change, and %d of %s are gone", q.facts.OtherName, gone, counted(met, "false event"))
	o.explains = func(f *fault) bool {
		is, ok := vanishes(f)
		return is || !ok && 2*gone > met || f.is(split) && 2*gone > met
	}
	o.evidence = func(h hits) string {
		return fmt.Sprintf("take out what follows the %s sensor's wave and its rate of change, at all of its teeth, and %d of %s of up to %s, %s, are gone",
			q.facts.OtherName, gone, counted(met, "false event"), volts(h.highest()), h.between())
	}
	return o
}

// ofTheCam is what can be told where no other sensor was recorded: teeth are
// lower in every second turn, as a sensor on the cam makes them, or a hump stands in a
// gap or between teeth then and none in the turns between; or they vanish at the same
// places time and again while others stand.
func (q *inquiry) ofTheCam(o opinion) opinion {
	inGaps := q.alternating(q.humps())
	amid := q.alternating(q.humpsWhere(func(f *fault) bool { return !f.is(inGap) }))
	isPulse := func(f *fault) bool { return inGaps.is(f) || amid.is(f) }
	hiding := q.areInSecondTurns(q.hiddenTeeth())
	lowest := 1.0
	for k := range q.slots.ratio {
		lowest = min(lowest, q.slots.ratio[k].alternation())
	}
	o.excluded = "no other sensor was recorded beside this one; teeth are as high in every second turn as in the others"
	if lowest < 1 {
		o.excluded = fmt.Sprintf("no other sensor was recorded beside this one; in every second turn no tooth is lower than %s of its height in the others", percent(lowest))
	}
	o.explains = func(f *fault) bool {
		return hiding && (f.isLost() || f.is(besideDip)) || q.alternates(f) || isPulse(f)
	}
	o.evidence = func(h hits) string {
		var told []string
		pulses, low := h.part(isPulse)
		if len(low) > 0 {
			told = append(told, fmt.Sprintf("%s low or hidden %s, at the same places but not in every turn, as what goes with the camshaft would make them", teethAre(len(low)), low.between()))
			if lowest < 1 {
				told = append(told, fmt.Sprintf("in every second turn the lowest rises to %s of its height in the others", percent(lowest)))
			}
		}
		gap, between := pulses.part(inGaps.is)
		if len(gap) > 0 {
			told = append(told, inGaps.pulse(gap, "in a gap of the wheel"))
		}
		if len(between) > 0 {
			told = append(told, amid.pulse(between, "between teeth"))
		}
		return strings.Join(told, "; ")
	}
	o.advice = "Record the cam sensor beside this one; " + lowerFirst(o.advice)
	return o
}

// alternating are humps if each comes in every second turn and not in those between, as
// wide at any speed; none otherwise. Another sensor's tooth may make a pulse that is too
// narrow for metal in a gap.
func (q *inquiry) alternating(h humps) humps {
	isNarrow := h.width >= leastPulseWidth && h.grows != 0 && h.grows <= widthGrowsMost && !q.areSparks(h.list)
	if !h.arePulses && !isNarrow || !q.comeInSecondTurns(h.list) {
		h.is = func(*fault) bool { return false }
	}
	return h
}

// pulse tells of humps that alternate, some of them.
func (h humps) pulse(some hits, where string) string {
	return fmt.Sprintf("a pulse of up to %s, %.1f pitches wide at any speed, stands %s in every second turn and not in those between, %s", volts(some.highest()), h.width, where, some.between())
}

// alternates tells that a missed tooth would have passed at its height of the
// other turns. While cranking, cylinders may do the same.
func (q *inquiry) alternates(f *fault) bool {
	k, ok := q.rim.of(f)
	return ok && q.meanRPM(f) > q.o.crankingTopRPM() && cured(f, q.slots.ratio[k].alternation())
}

func teethAre(n int) string {
	if n == 1 {
		return "1 tooth is"
	}
	return plain(n) + " teeth are"
}

const (
	fixedContrast = 1.5 // times as often as the mean tooth
	fewestFixed   = 4   // losses of a tooth
)

// hiddenTeeth are those that vanish at the same places of the wheel while the wave swings
// there as ever; none where most were lost in another way.
func (q *inquiry) hiddenTeeth() hits {
	lost := q.which((*fault).isLost)
	if !mostHidden(lost) || !q.areFixed(lost) {
		return nil
	}
	return lost
}

// areFixed tells that losses gather at some teeth of the wheel.
func (q *inquiry) areFixed(lost hits) bool {
	if q.wheel.TeethPresent() == 0 {
		return false
	}
	count := map[uint16]int{}
	for _, f := range lost {
		count[f.tooth]++
	}
	often := max(fewestFixed, fixedContrast*float64(len(lost))/float64(q.wheel.TeethPresent()))
	n := 0
	for _, f := range lost {
		if f.tooth > 0 && float64(count[f.tooth]) >= often {
			n++
		}
	}
	return n > 0 && 2*n >= len(lost)
}

// areInSecondTurns tells that losses of the same tooth mostly come an even number of turns
// after each other, as what goes with the camshaft does, and not what goes with the crank.
func (q *inquiry) areInSecondTurns(lost hits) bool {
	const most = 4 // turns, over which the speed hardly changes
	last := map[uint16]*fault{}
	n, even := 0, 0
	for _, f := range lost {
		before := last[f.tooth]
		last[f.tooth] = f
		if before == nil {
			continue
		}
		turns := int(math.Round(q.turnsBetween(before, f)))
		if turns < 1 || turns > most {
			continue
		}
		n++
		if turns%2 == 0 {
			even++
		}
	}
	return n >= leastFaults && float64(even) >= mostNear*float64(n)
}

func (h hits) highest() float64 {
	top := 0.0
	for _, f := range h {
		top = max(top, height(f))
	}
	return top
}
