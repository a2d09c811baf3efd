package threshold

import (
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	"armcurve/captures"
)

// TestPromiseNoiseCeiling watches noise of each kind for a second or two, as an
// instrument would, and plays an exposure against the ceiling made of that: of
// 20 s, or, with many draws, of the usual 600 s. What is promised is one passage
// or less, on average; at a margin of 1.25, none. In figures, a record gives
// rms, rate and largest value; bare, the largest value alone.
func TestPromiseNoiseCeiling(t *testing.T) {
	exposureS, trials := 20.0, max(3, *draws/8)
	if *draws >= manyDraws {
		exposureS, trials = DefaultOptions().NoiseExposureS, *draws/50
	}
	r := rand.New(rand.NewPCG(31, 32))
	for _, kind := range noiseKinds {
		for _, bare := range []bool{false, true} {
			atCeiling, withMargin := tally{}, tally{}
			over := 0.0
			for range trials {
				stream := newNoiseStream(kind, r)
				reading := stream.watch(1, 1+r.Float64())
				if bare {
					reading = captures.Reading{NoiseV: reading.NoiseV}
				}
				o := DefaultOptions()
				o.NoiseExposureS = exposureS
				m := newNoiseModel([]captures.Reading{reading}, o, func(float64) float64 { return 100 })
				ceilingV := m.partV(3000, exposureS)
				n := stream.passages(exposureS, ceilingV, o.Noise*ceilingV)
				atCeiling.add(n[0])
				withMargin.add(n[1])
				over += ceilingV / reading.NoiseV.Value / float64(trials)
			}
			how := map[bool]string{false: "in figures", true: "bare"}[bare]
			t.Logf("%-27s %-10s ceiling %.2f × the largest seen; passages: %s; with the margin: %s", kind.name, how, over, atCeiling, withMargin)
			if mean, chance := atCeiling.mean(); !kind.unbounded && mean > 1+3*chance {
				t.Errorf("%s, %s: the ceiling is passed %.2f ± %.2f times in the exposure", kind.name, how, mean, chance)
			}
			if mean, chance := withMargin.mean(); !kind.unbounded && mean > 0.1+3*chance {
				t.Errorf("%s, %s: 1.25 × the ceiling is passed %.2f ± %.2f times in the exposure", kind.name, how, mean, chance)
			}
		}
	}
}

// tally counts things over trials.
type tally struct {
	trials, sum, square int
	with                int // trials with any
}

func (c *tally) add(n int) {
	c.trials++
	c.sum += n
	c.square += n * n
	if n > 0 {
		c.with++
	}
}

// mean is the mean per trial and its standard error, as of one thing more.
func (c tally) mean() (mean, chance float64) {
	n := float64(c.trials)
	mean = float64(c.sum) / n
	variance := (float64(c.square)+1)/n - mean*mean
	return mean, math.Sqrt(variance / n)
}

func (c tally) String() string {
	mean, chance := c.mean()
	return fmt.Sprintf("%.2f ± %.2f, any in %d of %d", mean, chance, c.with, c.trials)
}
