package wheels

import (
	"math"

	"gonum.org/v1/gonum/floats"
	"gonum.org/v1/gonum/stat"

	"armcurve/captures/teeth/median"
	"armcurve/captures/teeth/pulses"
)

const (
	enoughRepeats = 12 // of an order, to tell whether a turn holds several
	fewPitches    = 20 // up to which the order of a wheel may be a part of another
	mostRepeats   = 3
)

// candidates are the wheels that make the same wave, if there are others than
// the shortest: usual are those with few teeth and one gap that may be the half
// or the third of a larger wheel's turn.
func candidates(found *Pattern) []string {
	w := found.Wheel
	if len(w.Missing) != 1 || w.Pitches >= fewPitches {
		return nil
	}
	var list []string
	for times := 1; times <= mostRepeats; times++ {
		list = append(list, found.repeated(times).Wheel.String())
	}
	return list
}

// repeats tells how often the order found comes in a turn, 1 or 3; 0 where the
// wave does not tell. No wheel is perfect: its teeth differ a little, and it runs
// out, so heights that come again after one order, or only after three, show it.
// So does the speed, which follows the engine's compressions: of a cycle's two
// turns each is two halves, whatever the engine, but never three thirds. Where each
// order passes a compression, its heights follow the speed, and show nothing of the wheel.
func repeats(run []pulses.Mark, in Intervals, found *Pattern) int {
	turn := len(found.Parts)
	from, to := unbroken(in.Pitches, turn)
	run, in.Lengths = run[from:to+1], in.Lengths[from:to]
	if len(run) < enoughRepeats*turn {
		return 0
	}
	lengths, levels := lengthsAndLevels(run)
	first, _, _ := found.Align(in.Lengths)
	for _, x := range [][]float64{levels, lengths} {
		one, two, three := unlike(x, turn), unlike(x, 2*turn), unlike(x, 3*turn)
		if one > leastUnlike*leastUnlike && three < 0.25*min(one, two) && lasts(x, 3*turn, 0.25*min(one, two)) && !found.isTone(x, first) {
			return 3
		}
	}
	v, speed := withinOrder(levels, found, first), withinOrder(lengths, found, first)
	if v > leastUneven*leastUneven && v > 6*unlike(levels, turn) && v > unevenShare*unevenShare*speed {
		return 1
	}
	return 0
}

// lengthsAndLevels are for each mark but the first and the last the two intervals
// beside it and the height of its lobe at an equal speed, logarithms.
func lengthsAndLevels(run []pulses.Mark) (lengths, levels []float64) {
	lengths, levels = make([]float64, len(run)-2), make([]float64, len(run)-2)
	for i := range lengths {
		both := run[i+2].At - run[i].At
		lengths[i] = math.Log(both)
		levels[i] = math.Log(max(run[i+1].Lobe(), 1e-9) * both)
	}
	return lengths, levels
}

// Unevenness of a wheel, as a share of its teeth's height, that tells anything:
// from one part of a turn to the next, and within one.
const (
	leastUnlike = 0.006
	leastUneven = 0.02
	unevenShare = 0.2 // of how the speed varies: so much of that heights at an equal speed may keep, as behind a coil
)

// lasts tells that values are as alike after the most spans that there are, apart from
// what changes on the whole, their mean over a span about each: those of the wheel are,
// and mains hum that keeps to three turns by chance drifts away.
func lasts(x []float64, span int, most float64) bool {
	var rest []float64
	for from := 0; from+span <= len(x); from++ {
		rest = append(rest, x[from+span/2]-stat.Mean(x[from:from+span], nil))
	}
	spans := len(rest)/span - 1
	return spans < 1 || unlike(rest, spans*span) < most
}

// toneShare is the part of what differs from one order to the next that one frequency
// may hold.
const toneShare = 0.6

// runOut is up to how often in a turn a wheel's heights may rise and fall as one: it runs
// out, or is oval.
const runOut = 2

// isTone tells that values that come again after three orders, of marks behind the first
// at a slot, do so as a tone would: teeth made unlike by chance are so at all frequencies
// alike, but mains hum, or what turns with a belt, that keeps nearly to three orders is
// at its own.
func (p *Pattern) isTone(x []float64, first int) bool {
	const orders = 3
	turn := len(p.Parts)
	differ := BySlot(x, orders*turn)
	for j := range turn {
		mean := (differ[j] + differ[j+turn] + differ[j+2*turn]) / orders
		for k := range orders {
			differ[j+k*turn] -= mean
		}
	}
	loudest := 0.0
	for times := runOut + 1; times <= orders*p.Wheel.Pitches/2; times++ {
		if times%orders != 0 {
			loudest = max(loudest, p.heldAt(times, differ, first))
		}
	}
	return loudest > toneShare*floats.Dot(differ, differ)
}

// heldAt is how much of the sum of squares of values by slot, over three orders, what
// rises and falls so many times in them holds.
func (p *Pattern) heldAt(times int, differ []float64, first int) float64 {
	turn, pitches := len(p.Parts), p.Wheel.Pitches
	var cosines, sines float64
	for j, v := range differ {
		slot := first + 1 + j
		place := slot/turn*pitches + p.Wheel.Positions[slot%turn]
		sin, cos := math.Sincos(2 * math.Pi * float64(times*place) / float64(3*pitches))
		cosines, sines = cosines+v*cos, sines+v*sin
	}
	// At each slot of an order the three squares of a sine add up to one and a half.
	return (cosines*cosines + sines*sines) / (1.5 * float64(turn))
}

// unlike is half the mean square of the differences of values so far apart,
// robustly.
func unlike(x []float64, apart int) float64 {
	var squares []float64
	for i := 0; i+apart < len(x); i++ {
		d := x[i+apart] - x[i]
		squares = append(squares, d*d)
	}
	// The median of the square of a normal variate is 0.455 of its mean.
	return median.Of(squares) / 0.455 / 2
}

// withinOrder is the variance of the levels by slot, those near a gap apart:
// their heights are different in any wheel.
func withinOrder(levels []float64, found *Pattern, first int) float64 {
	turn := len(found.Parts)
	bySlot := BySlot(levels, turn)
	sum, sum2, count := 0.0, 0.0, 0.0
	for i, level := range bySlot {
		slot := (first + 1 + i) % turn // of the mark amid the two intervals
		near := false
		for d := -2; d <= 1; d++ {
			near = near || !found.Regular((slot+d+turn)%turn)
		}
		if !near {
			sum, sum2, count = sum+level, sum2+level*level, count+1
		}
	}
	if count < 4 {
		return 0
	}
	mean := sum / count
	return sum2/count - mean*mean
}
