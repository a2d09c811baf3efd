package replay

import (
	"math"

	"armcurve/threshold"
)

// event is what an input counted.
type event struct {
	arch
	at          float64 // position of the instant counted
	thresholdV  float64 // that armed it
	afterV      float64 // threshold from here on
	speedKnown  bool    // a speed was believed when it armed
	thenKnown   bool
	believedRPM float64 // when it armed
}

// input is a comparator with its table.
type input struct {
	table      threshold.Table
	speed      believed
	thresholdV float64 // at the believed speed
	events     []event // since the last tooth that was settled
	settledV   float64 // threshold after the last event before those
	settled    bool    // and whether a speed was known
	result     tally
}

func newInput(table threshold.Table, speed believed) *input {
	n := &input{table: table, speed: speed}
	n.look()
	n.settledV = n.thresholdV
	return n
}

// look takes the threshold for the believed speed; where the table has none,
// the input never arms.
func (n *input) look() { n.thresholdV = n.table.At(n.speed.rpm).Or(math.Inf(1)) }

// pass lets an arch by. rise gives the position where it rose through a level;
// nil for an input that counts on the fall.
func (n *input) pass(a arch, rise func(arch, float64) float64) {
	if !(a.height > n.thresholdV) {
		return
	}
	e := event{arch: a, at: a.fall, thresholdV: n.thresholdV, speedKnown: n.speed.known(), believedRPM: n.speed.rpm}
	if rise != nil {
		e.at = rise(a, n.thresholdV)
	}
	n.speed.count(e.at)
	n.look()
	e.afterV, e.thenKnown = n.thresholdV, n.speed.known()
	n.events = append(n.events, e)
}

// thresholdAt is the threshold in force at a position after the last tooth that
// was settled, and whether a speed was known there.
func (n *input) thresholdAt(at float64) (v float64, known bool) {
	v, known = n.settledV, n.settled
	for _, e := range n.events {
		if e.fall < at {
			v, known = e.afterV, e.thenKnown
		}
	}
	return v, known
}

// settle forgets the first events.
func (n *input) settle(count int) {
	if count > 0 {
		n.settledV, n.settled = n.events[count-1].afterV, n.events[count-1].thenKnown
		n.events = n.events[:copy(n.events, n.events[count:])]
	}
}
