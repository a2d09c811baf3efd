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

	v      [4]float64 // the last values, newest last
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
}

// wheelAt gives the wheel's angle and the crank's speed, both in turns.
func (t *tracker) wheelAt(atS float64) (wheelTurns, crankTurnsPerS float64) {
	turns, turnsPerS := t.motion.at(atS)
	return t.sensor.wheelTurns(turns + t.startDeg/360), turnsPerS
}

// add takes the wave's next value, at time atS and one step after the last, and
// emits the teeth that it completes.
func (t *tracker) add(atS, stepS, v float64, emit func(Tooth)) {
	t.v[0], t.v[1], t.v[2], t.v[3] = t.v[1], t.v[2], t.v[3], v
	if t.filled < 4 {
		t.filled++
		return
	}
	a, b, c := t.v[0], t.v[1], t.v[2]
	if b > t.peakV && b >= a && b > c {
		bend := a - 2*b + c
		shift := (a - c) / (2 * bend)
		t.peakV, t.peakS = b-bend*shift*shift/2, atS+(shift-2)*stepS
	}
	switch {
	case b > 0 && c <= 0:
		t.fall(atS+(crossing(t.v)-2)*stepS, emit)
		t.peakV = 0
	case b <= 0 && c > 0:
		t.peakV = 0
	}
}

// crossing is where the cubic through four values at −1, 0, 1, 2 falls through
// zero between 0 and 1.
func crossing(v [4]float64) float64 {
	d1, d2, d3 := v[2]-v[1], v[2]-2*v[1]+v[0], v[3]-3*v[2]+3*v[1]-v[0]
	value := func(x float64) float64 {
		return v[1] + x*d1 + x*(x-1)/2*d2 + (x+1)*x*(x-1)/6*d3
	}
	low, high := 0.0, 1.0
	for range 32 {
		x := (low + high) / 2
		if value(x) > 0 {
			low = x
		} else {
			high = x
		}
	}
	return (low + high) / 2
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
		if seen || due > t.from {
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
