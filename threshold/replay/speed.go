package replay

import (
	"math"
	"slices"

	"armcurve/captures"
)

// believed is the speed that an input takes from the events it counted.
type believed struct {
	from    SpeedFrom
	turnRPM float64 // engine speed of one turn of the wheel per sample
	pitches float64 // of the wheel; 0 where intervals tell nothing
	gaps    []float64
	events  []float64 // positions of the last turn's and one more, a ring
	n       int
	pitch   float64 // samples in the last pitch
	rpm     float64
}

func newBelieved(from SpeedFrom, wheel captures.Wheel, teeth int, turnRPM float64) believed {
	b := believed{from: from, turnRPM: turnRPM, pitches: float64(wheel.Pitches)}
	for _, missing := range wheel.Missing {
		b.gaps = append(b.gaps, float64(missing+1))
	}
	slices.Sort(b.gaps)
	if b.pitches == 0 || b.pitches == 1 {
		b.from = Revolution
	}
	b.events = make([]float64, max(teeth, 1)+1)
	return b
}

// count takes an event into account.
func (b *believed) count(at float64) {
	n := len(b.events)
	last := b.events[(b.n+n-1)%n]
	b.events[b.n%n] = at
	b.n++
	if b.from == Interval {
		b.interval(at-last, b.n)
		return
	}
	if b.n >= n {
		b.rpm = b.turnRPM / (at - b.events[b.n%n])
	}
}

// interval takes an interval for one pitch or for a gap, whichever the pitch
// before it makes likelier.
func (b *believed) interval(length float64, count int) {
	if count < 2 || !(length > 0) {
		return
	}
	pitches := 1.0
	if b.pitch > 0 {
		for _, gap := range b.gaps {
			if math.Abs(math.Log(length/(gap*b.pitch))) < math.Abs(math.Log(length/(pitches*b.pitch))) {
				pitches = gap
			}
		}
	}
	b.pitch = length / pitches
	b.rpm = b.turnRPM / (b.pitch * b.pitches)
}

// known tells whether a speed has been believed yet.
func (b *believed) known() bool { return b.rpm > 0 }
