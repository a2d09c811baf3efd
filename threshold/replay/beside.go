package replay

import (
	"math"
	"sort"
)

const (
	besideTooth     = 12.0 // crank degrees between a false event and a tooth of the other sensor
	besideSwing     = 30.0 // and one of the swings that a wide tooth's rate of change makes beside it
	besideMiss      = 20.0 // and a missed tooth: the wave is pulled down behind the other's tooth as well
	sparseTeeth     = 40.0 // crank degrees from tooth to tooth; of closer ones some is always near
	mostNear        = 0.8  // of the faults
	leastOfTheTeeth = 0.3  // of the passages of one of them that have a fault, where there are any
)

// beside is how some faults go with the other sensor's teeth.
type beside struct {
	n, near    float64 // faults, and those near a tooth
	alone      float64 // of these, such that no tooth was near a turn before
	amongClose float64 // faults where the teeth are so close that some is always near
	covered    float64 // share of the passages of one tooth that have a fault, the highest of a turn
	is         bool    // most are near

	teeth []int     // the nearest to each fault
	turns []float64 // by each of them, the teeth in a turn
}

func (b *beside) share() float64 { return b.near / max(b.n, 1) }

// close tells that the teeth mostly are so close that some is always near.
func (b *beside) close() bool { return 2*b.amongClose > b.n }

// withOther compares faults with the other sensor's teeth.
func (q *inquiry) withOther(list hits, withinDeg float64) beside {
	var b beside
	for _, f := range list {
		if !f.is(standing) {
			b.meet(q, f, withinDeg)
		}
	}
	if b.n > 0 {
		b.covered = mostCovered(b.teeth, int(middleOf(b.turns)))
		b.is = b.near >= mostNear*b.n && b.covered >= leastOfTheTeeth
	}
	return b
}

// withTeeth compares false events with the other sensor's teeth. Farther off from these
// they have to come with nearly every passage of one, and not in the turns without it.
func (q *inquiry) withTeeth(events hits) beside {
	b := q.withOther(events, besideTooth)
	if b.is || b.close() {
		return b
	}
	if far := q.withOther(events, besideSwing); far.is && far.alone >= mostNear*far.n && far.covered >= mostNear {
		return far
	}
	return b
}

// meet takes a fault between two of the teeth.
func (b *beside) meet(q *inquiry, f *fault, withinDeg float64) {
	other, at := q.facts.Other, q.middle(f)
	next := sort.SearchFloat64s(other, at)
	if next == 0 || next == len(other) {
		return
	}
	b.n++
	nearest := q.nearestOther(at)
	b.teeth, b.turns = append(b.teeth, nearest), append(b.turns, q.otherTurn(f, nearest))
	switch {
	case spacing(other, next)*q.degrees(f) <= sparseTeeth:
		b.amongClose++
	case q.isBeside(at, f, withinDeg):
		b.near++
		if !q.isBeside(at-360/q.degrees(f), f, withinDeg) {
			b.alone++
		}
	}
}

// spacing is the mean distance of the teeth about the next one: two of a few may be close
// together, and most of the turn still far from any.
func spacing(teeth []float64, next int) float64 {
	const about = 4
	from, to := max(next-1-about, 0), min(next+about, len(teeth)-1)
	return (teeth[to] - teeth[from]) / float64(to-from)
}

// nearestOther is the other sensor's tooth that is nearest to a position.
func (q *inquiry) nearestOther(at float64) int {
	other := q.facts.Other
	k := sort.SearchFloat64s(other, at)
	if k == len(other) || k > 0 && at-other[k-1] < other[k]-at {
		k--
	}
	return k
}

// otherTurn is the number of teeth that the other sensor has in a turn of the camshaft, by
// the one that was next to a tooth's place a turn before; unknown near the beginning.
func (q *inquiry) otherTurn(f *fault, tooth int) float64 {
	due := q.facts.Other[tooth] - 720/q.degrees(f)
	if due < q.facts.Other[0] {
		return math.NaN()
	}
	return float64(tooth - q.nearestOther(due))
}

// mostCovered is the highest share of its passages at which any tooth of a turn is found
// among those listed in the order of time: as the wheels stand to each other, most
// teeth may couple to no harm. A few faults of another kind may lie far off.
func mostCovered(listed []int, turn int) float64 {
	few := len(listed) / 10
	inner := listed[few : len(listed)-few]
	first, last := inner[0], inner[len(inner)-1]
	found := make([]bool, last-first+1)
	for _, k := range inner {
		found[k-first] = true
	}
	turn = max(turn, 1)
	most := 0.0
	for tooth := range min(turn, len(found)) {
		most = max(most, everyTurn(found, tooth, turn))
	}
	return most
}

// everyTurn is the share of a tooth's passages at which it is found; 0 where these are
// too few to tell.
func everyTurn(found []bool, tooth, turn int) float64 {
	n, passages := 0, 0
	for k := tooth; k < len(found); k += turn {
		passages++
		if found[k] {
			n++
		}
	}
	if n < leastFaults {
		return 0
	}
	return float64(n) / float64(passages)
}

// middle is that of what a false event came of: it ends as far behind the other sensor's
// tooth as it is wide. A tooth missed is where it fell.
func (q *inquiry) middle(f *fault) float64 {
	if q.wheel.Pitches == 0 {
		return f.at
	}
	return f.at - float64(f.width)/2*q.wheel.PitchDeg()*q.o.turnsPerWheel()/q.degrees(f)
}

// degrees are those of the crank in a sample, at a fault.
func (q *inquiry) degrees(f *fault) float64 { return q.info.StepS * 6 * float64(f.rpm) }

// isBeside tells that the other sensor has a tooth near a position, at a fault's
// speed.
func (q *inquiry) isBeside(at float64, f *fault, withinDeg float64) bool {
	nearest := q.facts.Other[q.nearestOther(at)]
	return math.Abs(nearest-at) < withinDeg/q.degrees(f)
}
