package replay

import (
	"math"
	"sort"

	"armcurve/threshold"
)

// heights counts, by speed, how high teeth rose and how high all else did. From
// that follows what any threshold would have done at the speed of each tooth.
type heights struct {
	speeds map[int]*ladder
}

// ladder is the heights at one speed, in steps of 1/32 octave.
type ladder struct {
	teeth, unwanted [ladderSteps]uint32
}

const (
	stepsPerOctave = 32
	lowestOctave   = -11 // 0.5 mV
	ladderSteps    = stepsPerOctave * 22
)

// octaveStep is the step of a ladder that begins at 2^lowest.
func octaveStep(x float64, lowest int) int {
	if !(x > 0) {
		return 0
	}
	fraction, exponent := math.Frexp(x) // x = fraction·2^exponent, fraction from ½
	return (exponent-1-lowest)*stepsPerOctave + int((2*fraction-1)*stepsPerOctave)
}

// stepBottom is the lowest value of a step.
func stepBottom(step, lowest int) float64 {
	octave := math.Floor(float64(step) / stepsPerOctave)
	return math.Ldexp(1+float64(step)/stepsPerOctave-octave, int(octave)+lowest)
}

func (h *heights) at(rpm float64) *ladder {
	if h.speeds == nil {
		h.speeds = map[int]*ladder{}
	}
	step := max(octaveStep(rpm, 0), 0)
	l := h.speeds[step]
	if l == nil {
		l = new(ladder)
		h.speeds[step] = l
	}
	return l
}

func voltStep(v float64) int { return min(max(octaveStep(v, lowestOctave), 0), ladderSteps-1) }

// inOrder lists the speeds met.
func (h *heights) inOrder() []int {
	steps := make([]int, 0, len(h.speeds))
	for step := range h.speeds {
		steps = append(steps, step)
	}
	sort.Ints(steps)
	return steps
}

// counts are the misses and false events of a table that is looked up at the
// speed of each tooth, right to a step of the ladder.
func (h *heights) counts(table threshold.Table) (missed, unwanted int64) {
	for _, step := range h.inOrder() {
		rpm := (stepBottom(step, 0) + stepBottom(step+1, 0)) / 2
		m, u := h.speeds[step].counts(table.At(rpm).Or(math.Inf(1)))
		missed += m
		unwanted += u
	}
	return missed, unwanted
}

func (l *ladder) counts(thresholdV float64) (missed, unwanted int64) {
	at := voltStep(thresholdV)
	for i := range ladderSteps {
		switch {
		case i < at:
			missed += int64(l.teeth[i])
		case i > at:
			unwanted += int64(l.unwanted[i])
		default: // part of the step
			bottom := stepBottom(i, lowestOctave)
			part := min(max((thresholdV-bottom)/(stepBottom(i+1, lowestOctave)-bottom), 0), 1)
			missed += int64(math.Round(part * float64(l.teeth[i])))
			unwanted += int64(math.Round((1 - part) * float64(l.unwanted[i])))
		}
	}
	return missed, unwanted
}

// best is the fixed threshold with the fewest faults between two speeds, and
// their number.
func (h *heights) best(fromRPM, toRPM float64) (thresholdV float64, faults int64) {
	var sum ladder
	for step, l := range h.speeds {
		if rpm := stepBottom(step, 0); rpm >= fromRPM && rpm < toRPM {
			for i := range ladderSteps {
				sum.teeth[i] += l.teeth[i]
				sum.unwanted[i] += l.unwanted[i]
			}
		}
	}
	var above, below int64
	for _, n := range sum.unwanted {
		above += int64(n)
	}
	faults = math.MaxInt64
	for i := range ladderSteps {
		if above+below < faults {
			thresholdV, faults = stepBottom(i, lowestOctave), above+below
		}
		above -= int64(sum.unwanted[i])
		below += int64(sum.teeth[i])
	}
	return thresholdV, faults
}
