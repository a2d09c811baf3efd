package teeth

import (
	"fmt"
	"math"
	"slices"
	"strconv"

	"armcurve/captures"
	"armcurve/captures/teeth/median"
	"armcurve/captures/teeth/wheels"
)

// placedTurns are the first whole turns of the crank in a row, by which another
// channel's teeth are placed.
const placedTurns = 200

// crankTurn is one turn: when its teeth passed, with the first of the next, and
// at which parts of the turn.
type crankTurn struct{ at, parts []float64 }

// keepTurn keeps the turn that is being closed, as long as each follows the one
// before.
func (g *gatherer) keepTurn(p *wheels.Pattern, next *toothAt) {
	if len(g.turns) == placedTurns {
		return
	}
	if n := len(g.turns); n > 0 && g.turns[n-1].at[len(p.Parts)] != g.turn[0].at {
		if n >= placedTurns/4 {
			return
		}
		g.turns = g.turns[:0]
	}
	t := crankTurn{at: make([]float64, 0, len(g.turn)+1), parts: make([]float64, 0, len(g.turn)+1)}
	turned := 0.0
	for i := range g.turn {
		t.at, t.parts = append(t.at, g.turn[i].at), append(t.parts, turned)
		turned += p.Parts[i]
	}
	t.at, t.parts = append(t.at, next.at), append(t.parts, 1)
	g.turns = append(g.turns, t)
}

const (
	sameAngleDeg = 8.0  // within which teeth seen in several cycles are one
	evenAngleDeg = 2.5  // by which evenly spaced ones may be off
	cyclesFewest = 3    // that tell a cam's teeth
	nearlyAll    = 0.85 // of the cycles have to have a tooth
)

// CamWheel finds a cam's wheel by where on the crank its teeth passed, both
// channels of one capture having been measured: a cam turns once in two turns of
// the crank, however few teeth it has. ok is false where its teeth do not come at
// the same angles in each cycle, or too little was seen.
func CamWheel(cam, crank Measurement) (wheel captures.Wheel, ok bool) {
	angles, cycles := crankAngles(cam.firstTeeth, crank.turns)
	if cycles < cyclesFewest {
		return captures.Wheel{}, false
	}
	slices.Sort(angles)
	teeth, ok := gatherAngles(angles, cycles)
	if !ok {
		return captures.Wheel{}, false
	}
	wheel, err := captures.ParseWheel(camPattern(teeth))
	return wheel, err == nil
}

// crankAngles are the crank degrees of 0 to 720 at which teeth passed in whole
// cycles.
func crankAngles(teeth []float64, turns []crankTurn) (angles []float64, cycles int) {
	cycles = len(turns) / 2
	i := 0
	for _, at := range teeth {
		for i < 2*cycles && turns[i].at[len(turns[i].at)-1] <= at {
			i++
		}
		if i == 2*cycles {
			break
		}
		t := &turns[i]
		if at < t.at[0] {
			continue
		}
		j, _ := slices.BinarySearch(t.at, at)
		j = max(1, min(j, len(t.at)-1))
		part := t.parts[j-1] + (t.parts[j]-t.parts[j-1])*(at-t.at[j-1])/(t.at[j]-t.at[j-1])
		angles = append(angles, 360*(float64(i%2)+part))
	}
	return angles, cycles
}

// gatherAngles makes one of the angles that lie together; false where one is not
// seen in nearly every cycle, and once in each.
func gatherAngles(angles []float64, cycles int) (teeth []float64, ok bool) {
	if len(angles) == 0 {
		return nil, false
	}
	// Begin after the widest space, so that no tooth lies across 0.
	start := 0
	widest := 0.0
	for i, a := range angles {
		before := angles[(i+len(angles)-1)%len(angles)]
		if space := math.Mod(a-before+720, 720); space > widest {
			start, widest = i, space
		}
	}
	var group []float64
	closeGroup := func() {
		ok = ok && float64(len(group)) >= nearlyAll*float64(cycles) && len(group) <= cycles+1
		teeth = append(teeth, median.Of(group))
		group = group[:0]
	}
	ok = true
	for i := range angles {
		a := angles[(start+i)%len(angles)]
		if a < angles[start] {
			a += 720
		}
		if len(group) > 0 && a-group[len(group)-1] > sameAngleDeg {
			closeGroup()
		}
		group = append(group, a)
	}
	closeGroup()
	return teeth, ok
}

// camPattern writes teeth at crank degrees, in order, as a wheel: their number
// where they are evenly spaced, or the angles from the tooth after the longest
// interval.
func camPattern(teeth []float64) string {
	n := len(teeth)
	even, longest, first := true, 0.0, 0
	for i := range teeth {
		before := teeth[(i+n-1)%n]
		if i == 0 {
			before -= 720
		}
		interval := teeth[i] - before
		even = even && math.Abs(interval-720/float64(n)) < evenAngleDeg
		if interval > longest+evenAngleDeg {
			longest, first = interval, i
		}
	}
	if even {
		return strconv.Itoa(n)
	}
	text := "@0"
	for i := 1; i < n; i++ {
		text += fmt.Sprintf(",%.4g", math.Round(10*math.Mod(teeth[(first+i)%n]-teeth[first]+720, 720))/10)
	}
	return text
}
