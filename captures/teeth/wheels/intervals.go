package wheels

import (
	"math"

	"armcurve/captures/teeth/median"
	"armcurve/captures/teeth/pulses"
)

// Intervals are the times between marks, and how many pitches each holds.
type Intervals struct {
	Lengths []float64 // length
	Pitches []float64 // estimate
	ByLobe  []float64 // the same by the lobes alone
	byWidth []float64 // and by the pulses' widths, which follow the speed whatever the coil does
}

// leastPitch is the least number of pitches that is told apart: beside a lobe
// that is hardly there the estimate is noise.
const leastPitch = 0.25

// NewIntervals estimates pitches by two clues of the local speed, so that
// neither a gap looks like a slow tooth nor a slow tooth like a gap: how long the
// intervals beside are, and how high the lobes at either end of the interval
// (a voltage is proportional to speed). Compression misleads the one, a wheel that
// runs out the other.
func NewIntervals(marks []pulses.Mark) Intervals {
	in := lengthsAndLobes(marks, withinTurn)
	lengths := logarithms(overUsual(in.Lengths, withinTurn))
	in.estimate(mixed(lengths, logarithms(in.ByLobe)))
	return in
}

// intervalsInRipple does so for a wheel that compressions slow down much: what is
// roughly a pitch the lobes tell alone, held against more of them.
func intervalsInRipple(marks []pulses.Mark) Intervals {
	in := lengthsAndLobes(marks, overTurns)
	in.estimate(logarithms(in.ByLobe))
	return in
}

// What is usual near by, in teeth on either side: within a turn, over which a wheel
// that runs out makes its teeth weaker and stronger again; or over one and more.
const (
	withinTurn = 4
	overTurns  = 20
)

func lengthsAndLobes(marks []pulses.Mark, near int) (in Intervals) {
	in.Lengths = Lengths(marks)
	in.ByLobe, in.byWidth = lobeClue(marks, in.Lengths, near), widthClue(marks, in.Lengths, near)
	return in
}

// Lengths are the times between marks.
func Lengths(marks []pulses.Mark) (lengths []float64) {
	lengths = make([]float64, max(0, len(marks)-1))
	for i := range lengths {
		lengths[i] = marks[i+1].At - marks[i].At
	}
	return lengths
}

// estimate takes the pitches from a rough guess at their logarithms.
func (in *Intervals) estimate(rough []float64) {
	unit := logarithms(in.Lengths) // of the length of a pitch, roughly
	for i, pitches := range rough {
		unit[i] -= math.Log(max(1, math.Round(math.Exp(pitches))))
	}
	beside := make([]float64, len(unit))
	for i, length := range in.Lengths {
		beside[i] = math.Log(length) - besideAt(unit, i)
	}
	for _, pitches := range mixed(beside, logarithms(in.ByLobe)) {
		in.Pitches = append(in.Pitches, max(leastPitch, math.Exp(pitches)))
	}
}

// mixed is a mean of two clues to logarithms of pitches: the one that strays less
// from tooth to tooth says more.
func mixed(a, b []float64) []float64 {
	strayA, strayB := stray(a), stray(b)
	share := strayB / (strayA + strayB)
	mean := make([]float64, len(a))
	for i := range mean {
		mean[i] = share*a[i] + (1-share)*b[i]
	}
	return mean
}

func logarithms(x []float64) []float64 {
	logs := make([]float64, len(x))
	for i, v := range x {
		logs[i] = math.Log(v)
	}
	return logs
}

// stray is how much the greater part of logarithms of pitches is off a single
// pitch: the median of their squares, never quite nothing.
func stray(logs []float64) float64 {
	squares := make([]float64, len(logs))
	for i, x := range logs {
		squares[i] = x * x
	}
	return median.Of(squares) + 1e-4
}

// besideAt draws the values beside i into the place of i by a parabola, or by
// their mean at the ends.
func besideAt(x []float64, i int) float64 {
	n := len(x)
	switch {
	case n == 1:
		return x[0]
	case i == 0:
		return x[1]
	case i == n-1:
		return x[n-2]
	case i == 1 || i == n-2:
		return (x[i-1] + x[i+1]) / 2
	}
	// Between one and two pitches away on either side of an interval of two.
	return 0.78125*(x[i-1]+x[i+1]) - 0.28125*(x[i-2]+x[i+2])
}

// lobeClue is each interval's angle as the lobes tell it, over what is usual near by.
func lobeClue(marks []pulses.Mark, samples []float64, near int) []float64 {
	return overUsual(lobeAngles(marks, samples), near)
}

// lobeAngles are each interval times the lobes' height at its ends.
func lobeAngles(marks []pulses.Mark, samples []float64) []float64 {
	products := make([]float64, len(samples))
	for i, length := range samples {
		products[i] = length * math.Sqrt(max(marks[i].Trough(), 1e-9)*max(marks[i+1].Lobe(), 1e-9))
	}
	return products
}

// widthClue is each interval in widths of the pulses at its ends, over what is usual.
func widthClue(marks []pulses.Mark, samples []float64, near int) []float64 {
	inWidths := make([]float64, len(samples))
	for i, length := range samples {
		inWidths[i] = length / (marks[i].Own + marks[i+1].Own)
	}
	return overUsual(inWidths, near)
}

// overUsual gives values as parts of what is usual near by.
func overUsual(x []float64, near int) []float64 {
	parts := median.Running(x, near)
	for i, usual := range parts {
		parts[i] = x[i] / usual
	}
	return parts
}

// Swinging are the marks without those close behind another at which the wave
// hardly swings: where a tooth is slow, noise may swing the filter about it.
func Swinging(marks []pulses.Mark) []pulses.Mark {
	const near, close, weak = 4, 0.45, 0.35
	samples := make([]float64, len(marks))
	lobes := make([]float64, len(marks))
	for i := range marks {
		lobes[i] = min(marks[i].Lobe(), marks[i].Trough())
		if i > 0 {
			samples[i] = marks[i].At - marks[i-1].At
		}
	}
	usual, usualLobe := median.Running(samples, near), median.Running(lobes, near)
	var swing []pulses.Mark
	for i, m := range marks {
		if i == 0 || samples[i] > close*usual[i] || lobes[i] > weak*usualLobe[i] {
			swing = append(swing, m)
		}
	}
	return swing
}

// standingApart is the number of pitches, as pulses alone tell them, from which
// each shows the half swings before and behind it.
const standingApart = 2.5

// Sparse tells that pulses stand apart, as of a cam with a few teeth.
func Sparse(marks []pulses.Mark) bool {
	var apart []float64
	for i := 1; i < len(marks); i++ {
		apart = append(apart, (marks[i].At-marks[i-1].At)/(marks[i].Own*PitchPerWidth))
	}
	return median.Of(apart) > standingApart
}

// PitchPerWidth is a pitch in widths: for a sine the filter that finds
// pulses stands out best from white noise at tan x = 4x, x = π·width/pitch.
const PitchPerWidth = 2.255

// AlignTurns are those that a run is placed by, at most.
const AlignTurns = 3
