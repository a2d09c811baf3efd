package replay

import (
	"fmt"
	"math"
	"sort"
)

const (
	besideTooth     = 12.0 // crank degrees between a false event and a tooth of the other sensor
	sparseTeeth     = 40.0 // crank degrees from tooth to tooth; closer ones are told by their phase
	steadyPhase     = 0.6
	leastOfTheTeeth = 0.3 // that have a false event, where there are any
)

// studyCrossTalk: false events go with the teeth of another sensor.
func studyCrossTalk(q *inquiry) opinion {
	o := opinion{
		advice: "Part the two sensors' wires, or use screened ones, earthed at one end",
		not:    "Do not raise the table before the wiring is right",
	}
	if len(q.facts.Other) < 3 {
		o.excluded = "no other sensor was recorded beside this one"
		return o
	}
	near, phase, covered := q.withOther()
	o.excluded = fmt.Sprintf("%s of the false events are at a tooth of the %s sensor, %s of whose teeth have one",
		percent(near), q.facts.OtherName, percent(covered))
	if near < 0.8 && phase < steadyPhase || covered < leastOfTheTeeth {
		return o
	}
	o.explains = func(f *fault) bool { return f.is(isFalse) }
	o.evidence = func(h hits) string {
		return fmt.Sprintf("false events of up to %s come at the same place of the %s sensor's teeth, %s, at %s of them",
			volts(h.highest()), q.facts.OtherName, h.between(), percent(covered))
	}
	return o
}

// withOther compares false events with the other sensor's teeth: the share that
// is near one, how steady their phase between two is, and the share of teeth
// that have one, among those between the first and the last event.
func (q *inquiry) withOther() (near, phase, covered float64) {
	other := q.facts.Other
	var events, close, sparse, sin, cos, phased float64
	taken := map[int]bool{}
	first, last := len(other), 0
	for i := range q.faults {
		f := &q.faults[i]
		next := sort.SearchFloat64s(other, f.at)
		if !f.is(isFalse) || next == 0 || next == len(other) {
			continue
		}
		events++
		before, length := f.at-other[next-1], other[next]-other[next-1]
		nearest := next - 1
		if before > length/2 {
			nearest = next
		}
		taken[nearest] = true
		first, last = min(first, nearest), max(last, nearest)
		degrees := q.info.StepS * 6 * float64(f.rpm)
		if length*degrees > sparseTeeth {
			sparse++
			if math.Min(before, length-before)*degrees < besideTooth {
				close++
			}
			continue
		}
		s, c := math.Sincos(2 * math.Pi * before / length)
		sin, cos, phased = sin+s, cos+c, phased+1
	}
	if events == 0 {
		return 0, 0, 0
	}
	covered = float64(len(taken)) / float64(last-first+1)
	if phased > sparse {
		phase = math.Hypot(sin, cos) / phased
		return phase, phase, covered
	}
	return close / events, 0, covered
}

func (h hits) highest() float64 {
	top := 0.0
	for _, f := range h {
		top = max(top, height(f))
	}
	return top
}
