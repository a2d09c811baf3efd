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

// ladder is the heights at about one speed. They are counted in volts per rpm,
// in steps of 1/128 octave: within a step of speed, teeth and most tables grow
// alike.
type ladder struct {
	teeth, unwanted [ladderSteps]uint32
}

const (
	speedSteps   = 32  // in an octave
	heightSteps  = 128 // in an octave
	lowestOctave = -24 // 0.06 mV at 1000 rpm
	ladderSteps  = heightSteps * 24
)

// octaveStep is the step of x, where an octave is cut into so many and the
// first begins at 1.
func octaveStep(x float64, perOctave int) int {
	fraction, exponent := math.Frexp(x) // x = fraction·2^exponent, fraction from ½
	return (exponent-1)*perOctave + int((2*fraction-1)*float64(perOctave))
}

// stepBottom is the lowest value of a step.
func stepBottom(step, perOctave int) float64 {
	octave := math.Floor(float64(step) / float64(perOctave))
	return math.Ldexp(1+float64(step)/float64(perOctave)-octave, int(octave))
}

// heightStep is the step of a height at a speed.
func heightStep(v, rpm float64) int {
	gain := v / rpm
	if !(gain > 0) {
		return 0
	}
	return min(max(octaveStep(gain, heightSteps)-lowestOctave*heightSteps, 0), ladderSteps-1)
}

// ladderAt is the ladder of a speed; all speeds below 1 rpm have one.
func (h *heights) ladderAt(rpm float64) *ladder {
	if h.speeds == nil {
		h.speeds = map[int]*ladder{}
	}
	step := octaveStep(rpm, speedSteps)
	l := h.speeds[step]
	if l == nil {
		l = new(ladder)
		h.speeds[step] = l
	}
	return l
}

func (h *heights) tooth(v, rpm float64) {
	rpm = max(rpm, 1)
	h.ladderAt(rpm).teeth[heightStep(v, rpm)]++
}

func (h *heights) other(v, rpm float64) {
	rpm = max(rpm, 1)
	h.ladderAt(rpm).unwanted[heightStep(v, rpm)]++
}

// inOrder lists the steps of the speeds met, between two speeds.
func (h *heights) inOrder(fromRPM, toRPM float64) []int {
	var steps []int
	for step := range h.speeds {
		if rpm := middleRPM(step); rpm >= fromRPM && rpm < toRPM {
			steps = append(steps, step)
		}
	}
	sort.Ints(steps)
	return steps
}

func middleRPM(step int) float64 {
	return (stepBottom(step, speedSteps) + stepBottom(step+1, speedSteps)) / 2
}

// counts are the misses and false events of a table that is looked up at the
// speed of each tooth, right to a step of the ladders; false where it has no
// threshold at a speed met.
func (h *heights) counts(table threshold.Table) (missed, unwanted int64, ok bool) {
	for _, step := range h.inOrder(0, math.Inf(1)) {
		rpm := middleRPM(step)
		v := table.At(rpm)
		if !v.Known {
			return 0, 0, false
		}
		m, u := h.speeds[step].counts(v.Value, rpm)
		missed += m
		unwanted += u
	}
	return missed, unwanted, true
}

func (l *ladder) counts(thresholdV, rpm float64) (missed, unwanted int64) {
	at := heightStep(thresholdV, rpm)
	for _, n := range l.teeth[:at] {
		missed += int64(n)
	}
	for _, n := range l.unwanted[at+1:] {
		unwanted += int64(n)
	}
	bottom, top := stepBottom(at+lowestOctave*heightSteps, heightSteps), stepBottom(at+1+lowestOctave*heightSteps, heightSteps)
	part := min(max((thresholdV/rpm-bottom)/(top-bottom), 0), 1)
	missed += int64(math.Round(part * float64(l.teeth[at])))
	unwanted += int64(math.Round((1 - part) * float64(l.unwanted[at])))
	return missed, unwanted
}

// best is the one threshold with the fewest faults between two speeds, and
// their number.
func (h *heights) best(fromRPM, toRPM float64) (thresholdV float64, faults int64) {
	const trials = 24 // in an octave
	const lowest, highest = -10 * trials, 7 * trials
	var sums [highest - lowest]int64
	for _, step := range h.inOrder(fromRPM, toRPM) {
		l, rpm := h.speeds[step], middleRPM(step)
		var missed, unwanted int64
		for _, n := range l.unwanted {
			unwanted += int64(n)
		}
		at := 0
		for trial := range sums {
			for to := heightStep(trialV(trial+lowest, trials), rpm); at < to; at++ {
				missed += int64(l.teeth[at])
				unwanted -= int64(l.unwanted[at])
			}
			sums[trial] += missed + unwanted
		}
	}
	faults = math.MaxInt64
	for trial, sum := range sums {
		if sum < faults {
			thresholdV, faults = trialV(trial+lowest, trials), sum
		}
	}
	return thresholdV, faults
}

func trialV(trial, perOctave int) float64 { return math.Exp2(float64(trial) / float64(perOctave)) }

// reaches tells that the wave has teeth well above a speed.
func (h *heights) reaches(rpm float64) bool {
	for _, step := range h.inOrder(rpm, math.Inf(1)) {
		for _, n := range h.speeds[step].teeth {
			if n > 0 {
				return true
			}
		}
	}
	return false
}
