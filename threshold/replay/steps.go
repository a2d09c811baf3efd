package replay

import "math"

const (
	atStep    = 0.1  // steps from one, within which a level that was told by noisy teeth is that step
	beyondOne = 0.01 // steps above it, where samples on it have fallen, however they were rounded
)

// steps are those that the instrument tells voltages in. Where they are coarse, many
// samples are at the rest level itself, and whether a wave has fallen to it there must not
// hang on the last digits of a level that was averaged.
type steps struct{ baseV, sizeV float64 } // one of them; their size, 0 where it is not known

// stepsAbout finds the steps on either side of a level in samples.
func stepsAbout(levelV float64, samples []float64) steps {
	below, above := math.Inf(-1), math.Inf(1)
	for _, v := range samples {
		switch {
		case v > levelV:
			above = min(above, v)
		case v <= levelV: // not where it is lacking
			below = max(below, v)
		}
	}
	size := above - below
	if math.IsInf(size, 0) {
		return steps{}
	}
	if above-levelV < levelV-below {
		return steps{above, size}
	}
	return steps{below, size}
}

// rest is the level that a wave is compared with whose rest level was told: just above a
// step that it is on.
func (s steps) rest(toldV float64) float64 {
	if s.sizeV == 0 {
		return toldV
	}
	onV := s.baseV + math.Round((toldV-s.baseV)/s.sizeV)*s.sizeV
	if math.Abs(toldV-onV) > atStep*s.sizeV {
		return toldV
	}
	return onV + beyondOne*s.sizeV
}
