package threshold

import (
	"math"

	"armcurve/captures"
)

// doubt is an outlier on the low side at an end of the measured speeds. Nothing
// beyond it contradicts it: the amplitude may really fall there. It is left
// out of the curve, but the lower bound stays under it until it is measured
// again.
type doubt struct {
	lastGood, at captures.Reading
	up           bool // the doubtful reading is above all others
}

// leastBelieved is the least ratio to the others' curve that a signal is
// believed to fall to from one speed to the next; less is a slip.
const leastBelieved = 0.25

// doubtful picks the outliers on the low side beyond either end of the rest.
func doubtful(out []outlier, rest points) []doubt {
	var list []doubt
	first, last := rest.readings[0], rest.readings[len(rest.readings)-1]
	for _, o := range out {
		d := doubt{first, o.reading, false}
		if o.reading.RPM > last.RPM {
			d = doubt{last, o.reading, true}
		}
		beyond := d.up || o.reading.RPM < first.RPM
		if o.ratio() < 1 && o.ratio() > leastBelieved && beyond {
			list = append(list, d)
		}
	}
	return list
}

// slope is the course between the two readings, in ln V per ln rpm.
func (d doubt) slope() float64 {
	return math.Log(d.at.PeakV.Value/d.lastGood.PeakV.Value) / math.Log(d.at.RPM/d.lastGood.RPM)
}

// lnLimit is the largest ln V that the doubtful reading allows at a speed: in a
// straight line of logarithms from the last good reading to it; below it in
// proportion to speed, above it level, or, where it already falls, falling on
// no less than inversely to speed.
func (d doubt) lnLimit(n speed) float64 {
	x, good := n.ln-math.Log(d.at.RPM), math.Log(d.lastGood.RPM/d.at.RPM)
	slope := d.slope()
	switch {
	case d.up && x < good || !d.up && x > good:
		return math.Inf(1)
	case !d.up && x < 0:
		slope = 1
	case d.up && x > 0 && slope < 0:
		slope = math.Min(slope, -1)
	case d.up && x > 0:
		slope = 0
	}
	return math.Log(d.at.PeakV.Value) + slope*x
}
