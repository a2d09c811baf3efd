package simulate

import "math"

// tracker follows the wave before noise and finds each tooth's fall through
// zero. A crossing belongs to the tooth whose middle, later by the coil's lag,
// is within half a pitch; a hump's crossing belongs to none.
type tracker struct {
	sensor   *Sensor
	motion   *motion
	startDeg float64
	places   []float64
	reach    []float64 // half the distance to the nearest other tooth, in turns
	afterGap []bool
	lost     []Window

	from  float64 // the wheel's angle at the beginning
	tooth int     // the next one expected
	turn  int

	v      [5]float64 // the last values, newest last
	filled int
	peakV  float64 // of the half-wave so far
	peakS  float64
}

func newTracker(s *Sensor, m *motion, startDeg float64) *tracker {
	t := &tracker{sensor: s, motion: m, startDeg: startDeg, places: s.places(), afterGap: s.gapBefore(), lost: s.Dropouts}
	n := len(t.places)
	for i, place := range t.places {
		before := place - t.places[(i+n-1)%n]
		after := t.places[(i+1)%n] - place
		if i == 0 {
			before++
		}
		if i == n-1 {
			after++
		}
		t.reach = append(t.reach, min(before, after, 0.5)/2)
	}
	return t
}

// begin starts at a wheel angle, in turns.
func (t *tracker) begin(wheelTurns float64) {
	t.from = wheelTurns
	t.turn = int(math.Floor(wheelTurns)) - 1
	t.peakS = math.Inf(-1)
}

// wheelAt gives the wheel's angle and the crank's speed, both in turns.
func (t *tracker) wheelAt(atS float64) (wheelTurns, crankTurnsPerS float64) {
	turns, turnsPerS := t.motion.at(atS)
	return t.sensor.wheelTurns(turns + t.startDeg/360), turnsPerS
}

// add takes the wave's next value, at time atS and one step after the last, and
// emits the teeth that it completes. It looks at the value two steps back, with
// two on either side.
func (t *tracker) add(atS, stepS, v float64, emit func(Tooth)) {
	t.v[0], t.v[1], t.v[2], t.v[3], t.v[4] = t.v[1], t.v[2], t.v[3], t.v[4], v
	if t.filled < len(t.v) {
		t.filled++
		return
	}
	middleS := atS - 2*stepS
	a, b, c := t.v[1], t.v[2], t.v[3]
	if b > t.peakV && b >= a && b > c {
		shift, peakV := newQuartic(t.v).top()
		t.peakV, t.peakS = peakV, middleS+shift*stepS
	}
	switch {
	case b > 0 && c <= 0:
		t.fall(middleS+newQuartic(t.v).crossing()*stepS, emit)
		t.peakV = 0
	case b <= 0 && c > 0:
		t.peakV = 0
	}
}

// quartic is the polynomial through five values at −2 to 2, by rising powers.
type quartic [5]float64

func newQuartic(v [5]float64) quartic {
	return quartic{
		v[2],
		(v[0] - 8*v[1] + 8*v[3] - v[4]) / 12,
		(-v[0] + 16*v[1] - 30*v[2] + 16*v[3] - v[4]) / 24,
		(-v[0] + 2*v[1] - 2*v[3] + v[4]) / 12,
		(v[0] - 4*v[1] + 6*v[2] - 4*v[3] + v[4]) / 24,
	}
}

func (q quartic) at(x float64) float64 {
	return q[0] + x*(q[1]+x*(q[2]+x*(q[3]+x*q[4])))
}

// crossing is where it falls through zero between 0 and 1.
func (q quartic) crossing() float64 {
	low, high := 0.0, 1.0
	for range 32 {
		x := (low + high) / 2
		if q.at(x) > 0 {
			low = x
		} else {
			high = x
		}
	}
	return (low + high) / 2
}

// top is the place and height of its maximum between −1 and 1, the middle value
// being above its neighbours.
func (q quartic) top() (x, v float64) {
	low, high := -1.0, 1.0
	for range 32 {
		x = (low + high) / 2
		if q[1]+x*(2*q[2]+x*(3*q[3]+x*4*q[4])) > 0 {
			low = x
		} else {
			high = x
		}
	}
	return x, q.at(x)
}

// fall matches a fall through zero with a tooth.
func (t *tracker) fall(atS float64, emit func(Tooth)) {
	wheel, turnsPerS := t.wheelAt(atS)
	pitches := 1 / t.sensor.detail()
	lag := t.sensor.Coil.lagTurns(turnsPerS*t.sensor.perCrank()*pitches) / pitches
	for {
		due := float64(t.turn) + t.places[t.tooth] + lag
		if wheel < due-t.reach[t.tooth] {
			return
		}
		seen := wheel < due+t.reach[t.tooth]
		tooth := t.truth(atS, turnsPerS, seen)
		if !seen && turnsPerS > 0 {
			tooth.TimeS -= (wheel - due) / (turnsPerS * t.sensor.perCrank())
		}
		if seen && t.peakS >= 0 || !seen && due > t.from && tooth.TimeS >= 0 {
			emit(tooth)
		}
		t.tooth++
		if t.tooth == len(t.places) {
			t.tooth, t.turn = 0, t.turn+1
		}
		if seen {
			return
		}
	}
}

func (t *tracker) truth(atS, turnsPerS float64, seen bool) Tooth {
	tooth := Tooth{Sensor: t.sensor.Name, Turn: t.turn, AfterGap: t.afterGap[t.tooth], Unseen: !seen}
	tooth.TimeS, tooth.RPM, tooth.Number = atS, 60*turnsPerS, t.tooth+1
	if seen {
		tooth.PeakV = t.peakV
		tooth.Unseen = inAny(t.lost, atS) || inAny(t.lost, t.peakS)
	}
	return tooth
}

func inAny(windows []Window, atS float64) bool {
	for _, w := range windows {
		if w.holds(atS) {
			return true
		}
	}
	return false
}
