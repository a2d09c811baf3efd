package replay

import "fmt"

// manyPlaces of a turn: the ignition of six cylinders has three, and is disabled
// to crank for a capture.
const manyPlaces = 4

// studyStarter: false events while the starter turns, from a noise that is the
// starter's own: it stops with it, or comes from its commutator, at many places
// of each turn. Where no threshold would do, the noise is not the matter.
func studyStarter(q *inquiry) opinion {
	top := q.o.crankingTopRPM()
	cranking := func(f *fault) bool { return f.is(isFalse) && q.meanRPM(f) <= top && !f.is(standing) }
	here := q.which(cranking)
	bestV, faults := q.height.best(0, top)
	runs := q.height.reaches(top)
	places := q.lockedPlaces(here)
	o := opinion{
		excluded: fmt.Sprintf("%d false events up to %s", len(here), speed(top)),
		advice:   fmt.Sprintf("Raise the threshold up to %s to about %s, which would have left %s; feed the starter and the sensor's wires apart", speed(top), volts(bestV), counted(int(faults), "fault")),
		not:      "Leave the table above cranking alone",
	}
	if len(here) == 0 || 10*faults > int64(len(here)) {
		return o
	}
	later := q.which(func(f *fault) bool { return f.is(isFalse) && !cranking(f) })
	if !(runs && len(later) == 0) && places < manyPlaces {
		o.excluded += fmt.Sprintf(", at %d fixed places of the turn", places)
		return o
	}
	o.explains = cranking
	o.evidence = func(h hits) string {
		return fmt.Sprintf("noise of up to %s while the starter turns, over a threshold of %s; it comes at many places of the turn, or stops with the starter",
			volts(h.highest()), volts(h.median(thresholdOf)))
	}
	return o
}

// meanRPM is the speed of the turn about a fault.
func (q *inquiry) meanRPM(f *fault) float64 {
	if f.dip > 0 {
		return float64(f.rpm / f.dip)
	}
	return float64(f.rpm)
}

// lockedPlaces is the number of places of the turn, five degrees each, at which
// the wave itself has, turn by turn, a good part of some false event.
func (q *inquiry) lockedPlaces(list hits) int {
	places := map[int]bool{}
	for _, f := range list {
		if f.partV > 0.3*f.heightV {
			places[int((float64(f.tooth)+float64(f.part))*2)] = true
		}
	}
	return len(places)
}
