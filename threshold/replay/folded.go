package replay

import (
	"math"
	"sort"
)

const (
	foldHalfDeg  = 3.0 // crank degrees to either side that are one place
	foldFewest   = 4   // events at a place, at least
	foldContrast = 3   // times as many as noise would leave there
	foldFirings  = 4   // evenly spread over a turn of the crank, at most
)

// folded is where in the turn false events came, whatever the wave is like
// there: a spike that is narrow beside its own jitter is not at one place of the
// wave turn by turn, but always near it.
type folded struct {
	wheelDeg float64 // crank degrees of a turn of the wheel
	pitchDeg float64 // of a pitch; 0 where the wheel is none of even pitches
	deg      []float64
	gaps     []gapPlace
	// hasOutside tells that events gather outside the gaps.
	hasOutside bool
}

// gapPlace is a gap of the wheel, from the tooth before it to the tooth after.
type gapPlace struct{ fromDeg, toDeg float64 }

// fold lists where the false events came while the wheel turned.
func (q *inquiry) fold() *folded {
	w := q.wheel
	turns := q.o.turnsPerWheel()
	f := &folded{wheelDeg: 360 * turns, pitchDeg: w.PitchDeg() * turns}
	var last *fault
	lastDeg := 0.0
	for i := range q.faults {
		x := &q.faults[i]
		deg, ok := q.foldedDeg(x)
		if !ok || last != nil && math.Abs(deg-lastDeg) < 2*foldHalfDeg && q.turnsBetween(last, x) < 0.5 {
			continue // several at once are one time
		}
		f.deg = append(f.deg, deg)
		last, lastDeg = x, deg
	}
	sort.Float64s(f.deg)
	for k := range w.Positions {
		next := w.Pitches
		if k+1 < len(w.Positions) {
			next = w.Positions[k+1]
		}
		if next-w.Positions[k] > 1 {
			f.gaps = append(f.gaps, gapPlace{float64(w.Positions[k]) * f.pitchDeg, float64(next) * f.pitchDeg})
		}
	}
	f.lookOutside()
	return f
}

// turnsBetween is by how much the crank turned from one fault to a later one.
func (q *inquiry) turnsBetween(a, b *fault) float64 {
	return (b.at - a.at) * q.info.StepS * float64(b.rpm) / 60
}

// foldedDeg is where in the wheel's turn a false event came; ok is false for
// one without a tooth on either side, and for one that another fault made.
func (q *inquiry) foldedDeg(f *fault) (deg float64, ok bool) {
	if !f.is(isFalse) || f.is(standing|follows) || f.part == 0 {
		return 0, false
	}
	at := q.crankDeg(int(f.tooth), f.part)
	return at.Value, at.Known
}

// isPlace tells that false events gather about an angle: that they are far more
// than any noise without a place would leave there. In a gap the wave may leave
// noise no more room than that, and a spark may ring as long; so they count
// there only beside others outside.
func (f *folded) isPlace(deg float64) bool {
	gap, is := f.gapAt(deg)
	if !is {
		return f.isOutside(deg) || f.fires(deg)
	}
	even := float64(f.between(gap.fromDeg, gap.toDeg)) * min(1, 2*foldHalfDeg/(gap.toDeg-gap.fromDeg))
	return f.hasOutside && (f.exceeds(deg, even) || f.exceeds(deg, 0) && f.fires(deg))
}

// fires tells that events gather outside the gaps where an engine that fires
// evenly sparks if it does at an angle.
func (f *folded) fires(deg float64) bool {
	for firings := 2; firings <= foldFirings; firings++ {
		step := 360 / float64(firings)
		for at := step; at < f.wheelDeg; at += step {
			other := math.Mod(deg+at, f.wheelDeg)
			if _, is := f.gapAt(other); !is && f.isOutside(other) {
				return true
			}
		}
	}
	return false
}

// isOutside is that for an angle between teeth that follow each other: there the
// wave leaves room at the same place of every pitch.
func (f *folded) isOutside(deg float64) bool { return f.exceeds(deg, f.elsewhere(deg)) }

// exceeds tells that the events about an angle are far more than by chance.
func (f *folded) exceeds(deg, byChance float64) bool {
	anywhere := float64(len(f.deg)) * 2 * foldHalfDeg / f.wheelDeg
	return f.about(deg) >= foldFewest+int(foldContrast*max(anywhere, byChance))
}

// lookOutside finds whether a good part of the events gather outside the gaps.
func (f *folded) lookOutside() {
	n := 0
	for _, deg := range f.deg {
		if _, is := f.gapAt(deg); !is && f.isOutside(deg) {
			n++
		}
	}
	f.hasOutside = n > 0 && float64(n) >= leastShare*float64(len(f.deg))
}

func (f *folded) gapAt(deg float64) (gapPlace, bool) {
	for _, g := range f.gaps {
		if deg > g.fromDeg && deg < g.toDeg {
			return g, true
		}
	}
	return gapPlace{}, false
}

// elsewhere is the middle number of events at the same place of other pitches.
func (f *folded) elsewhere(deg float64) float64 {
	if f.pitchDeg == 0 {
		return 0
	}
	pitches := int(math.Round(f.wheelDeg / f.pitchDeg))
	var n []int
	for k := 1; k < pitches; k++ {
		n = append(n, f.about(math.Mod(deg+float64(k)*f.pitchDeg, f.wheelDeg)))
	}
	if len(n) == 0 {
		return 0
	}
	sort.Ints(n)
	return float64(n[len(n)/2])
}

// about is the number of events at a place of the turn.
func (f *folded) about(deg float64) int {
	n := f.between(deg-foldHalfDeg, deg+foldHalfDeg)
	if deg < foldHalfDeg {
		n += f.between(deg-foldHalfDeg+f.wheelDeg, f.wheelDeg)
	}
	if deg > f.wheelDeg-foldHalfDeg {
		n += f.between(0, deg+foldHalfDeg-f.wheelDeg)
	}
	return n
}

func (f *folded) between(fromDeg, toDeg float64) int {
	return sort.Search(len(f.deg), func(i int) bool { return f.deg[i] > toDeg }) - sort.SearchFloat64s(f.deg, fromDeg)
}
