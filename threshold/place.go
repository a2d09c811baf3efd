package threshold

import "math"

// aim is the threshold wanted at one speed, before steps and limits. ok is
// false where noise reaches the weakest tooth at a speed that was measured:
// then no threshold is to be written.
func (s *Sensor) aim(w Window) (thresholdV float64, ok bool) {
	if !w.NoiseV.Known {
		return w.WeakestV / w.SignalTarget, true
	}
	lowest := w.NoiseTarget * w.NoiseV.Value
	highest := w.WeakestV / w.SignalTarget
	switch {
	case w.closed() && w.RPM >= s.Curve.LowRPM/lowestReach:
		return 0, false
	case lowest > highest:
		return w.NoiseV.Value * math.Pow(w.room(), w.noiseShare()), true
	}
	return min(max(s.Options.PreferredFraction*w.WeakestV, lowest), highest), true
}

// lowestReach is how far below the lowest reading its measurement still
// speaks: the reading's speed ÷ 1.25.
const lowestReach = 1.25

// steps are the thresholds that the input can hold: multiples of its step from
// the first above 0, within its limits.
type steps struct {
	v        float64
	min, max int // step numbers; max is math.MaxInt32 where there is no limit
}

// stepSlack lets a limit such as 0.3 hold the third step of 0.1.
const stepSlack = 1e-9

func (in Input) steps() steps {
	s := steps{v: in.StepV, min: 1, max: math.MaxInt32}
	if in.MinV.Known {
		s.min = max(1, wholeSteps(math.Ceil(in.MinV.Value/in.StepV-stepSlack)))
	}
	if in.MaxV.Known {
		s.max = wholeSteps(math.Floor(in.MaxV.Value/in.StepV + stepSlack))
	}
	s.max = max(s.max, s.min)
	return s
}

// holdsAStep tells whether a multiple of the step lies within the limits.
func (in Input) holdsAStep() bool {
	s := in.steps()
	return s.volts(s.min) <= in.MaxV.Value*(1+stepSlack)
}

func wholeSteps(x float64) int { return int(min(x, math.MaxInt32)) }

// coarser gives multiples of the steps that are not much finer than leastV, up
// to the first beyond topV.
func (s steps) coarser(leastV, topV float64) steps {
	if times := wholeSteps(leastV / s.v); times > 1 {
		s = steps{s.v * float64(times), (s.min + times - 1) / times, s.max / times}
	}
	s.max = max(s.min, min(s.max, wholeSteps(math.Ceil(topV/s.v))))
	return s
}

func (s steps) volts(k int) float64 { return float64(k) * s.v }

func (s steps) limit(k int) int { return min(max(k, s.min), s.max) }

// nearest gives the steps on either side of a voltage, alike where it lies on
// one or beyond the limits.
func (s steps) around(thresholdV float64) (below, above int) {
	x := math.Min(thresholdV/s.v, math.MaxInt32)
	if near := math.Round(x); math.Abs(x-near) < stepSlack*math.Max(1, near) {
		return s.limit(int(near)), s.limit(int(near))
	}
	return s.limit(int(math.Floor(x))), s.limit(int(math.Ceil(x)))
}
