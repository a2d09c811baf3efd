package replay

import (
	"math"
	"sort"

	"gonum.org/v1/gonum/mathext"
)

// drift is a run of false events that come at an angle which moves with speed, as a
// spark's does with its advance: near that of the event at the next lower speed.
type drift struct {
	spacingDeg float64  // between angles that are one: of an engine that fires evenly
	list       []angled // half a turn or more apart, by rising speed
}

// angled is a false event and where it came.
type angled struct {
	*fault
	deg float64
}

const (
	driftSpeeds   = 1.25 // the highest speed ÷ the lowest, at least: at one speed no advance moves
	driftChance   = 1e-3 // that noise looks like that
	driftContrast = 2    // times as rarely apart as any two of the events
)

// drifts are the runs that noise would hardly make: its events come where the wave
// leaves it room, but in any order.
func (q *inquiry) drifts() []drift {
	var list []drift
	for firings := 1; firings <= foldFirings; firings++ {
		if d := q.driftOf(360 / float64(firings)); d.isOne() {
			list = append(list, d)
		}
	}
	return list
}

// driftOf lists the false events that no other fault made, one of a turn's half.
func (q *inquiry) driftOf(spacingDeg float64) drift {
	d := drift{spacingDeg: spacingDeg}
	var last *fault
	for i := range q.faults {
		f := &q.faults[i]
		deg, ok := q.foldedDeg(f)
		if !ok || last != nil && q.turnsBetween(last, f) < 0.5 {
			continue
		}
		d.list = append(d.list, angled{f, math.Mod(deg, spacingDeg)})
		last = f
	}
	sort.SliceStable(d.list, func(i, j int) bool { return d.list[i].rpm < d.list[j].rpm })
	return d
}

// isOne tells that events which follow each other are at one angle far more often than
// any two of them are: in another order they would be so by chance alone.
func (d *drift) isOne() bool {
	pairs := len(d.list) - 1
	if pairs < leastFaults || !(d.list[pairs].rpm > driftSpeeds*d.list[0].rpm) {
		return false
	}
	together := 0
	for i := range pairs {
		if d.areOne(d.list[i].deg, d.list[i+1].deg) {
			together++
		}
	}
	chance := d.anyTwo()
	if together == 0 || driftContrast*float64(pairs-together) > (1-chance)*float64(pairs) {
		return false
	}
	// of as many or more together by chance, at any of the spacings
	return mathext.RegIncBeta(float64(together), float64(pairs-together+1), chance) < driftChance/foldFirings
}

// anyTwo is the share of all pairs that are at one angle.
func (d *drift) anyTwo() float64 {
	n := len(d.list)
	deg := make([]float64, n, 2*n)
	for i, f := range d.list {
		deg[i] = f.deg
	}
	sort.Float64s(deg)
	for _, x := range deg { // once more around
		deg = append(deg, x+d.spacingDeg)
	}
	pairs := 0
	for i, to := 0, 0; i < n; i++ {
		for to+1 < i+n && deg[to+1]-deg[i] < surgeHalfDeg {
			to++
		}
		pairs += to - i
	}
	return float64(pairs) / (float64(n) * float64(n-1) / 2)
}

func (d *drift) areOne(aDeg, bDeg float64) bool {
	return math.Abs(math.Remainder(aDeg-bDeg, d.spacingDeg)) < surgeHalfDeg
}

// has tells that a false event is at the angle of others at about its speed.
func (d *drift) has(f *fault, deg float64) bool {
	next := sort.Search(len(d.list), func(i int) bool { return d.list[i].rpm >= f.rpm })
	for i := max(next-1, 0); i < min(next+2, len(d.list)); i++ {
		if other := d.list[i]; other.at != f.at && d.areOne(deg, other.deg) {
			return true
		}
	}
	return false
}
