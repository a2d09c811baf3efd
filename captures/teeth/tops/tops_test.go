package tops

import (
	"math"
	"math/rand/v2"
	"testing"
)

// TestFlatTops: a top that is cut off is told from a round one, whether the instrument
// ends there, a clamp lets a little more through, or noise comes on top of it.
func TestFlatTops(t *testing.T) {
	const restV = 0.4
	for _, c := range []struct {
		name          string
		cutV, through float64
		noiseV        float64
		samples       int
		is            bool
		fromV, toV    float64
	}{
		{name: "round", cutV: 9, samples: 200},
		{name: "round, few samples", cutV: 9, samples: 10},
		{name: "round, noisy", cutV: 9, noiseV: 0.03, samples: 200},
		{name: "range", cutV: 0.67, samples: 200, is: true, fromV: 0.67, toV: 0.67},
		{name: "range, few samples", cutV: 0.67, samples: 10, is: true, fromV: 0.67, toV: 0.67},
		{name: "hardly cut", cutV: 0.87, samples: 200, is: true, fromV: 0.84, toV: 0.87},
		{name: "clamp with noise behind", cutV: 0.67, noiseV: 0.02, samples: 200, is: true, fromV: 0.65, toV: 0.70},
		{name: "clamp that lets some through", cutV: 0.5, through: 0.03, samples: 200, is: true, fromV: 0.5, toV: 0.52},
	} {
		noise := rand.New(rand.NewPCG(1, 2))
		v := make([]float64, c.samples)
		for i := range v {
			x := math.Sin(math.Pi * (float64(i) + 0.5) / float64(c.samples))
			v[i] = restV + min(x, c.cutV+c.through*(x-c.cutV)) + c.noiseV*noise.NormFloat64()
		}
		heightV, is := Of(v, restV, 1, 64)
		if is != c.is {
			t.Errorf("%s: flat %v, want %v", c.name, is, c.is)
		}
		if c.is && (heightV < c.fromV-1e-9 || heightV > c.toV+1e-9) {
			t.Errorf("%s: at %.3f V, want %.2f to %.2f", c.name, heightV, c.fromV, c.toV)
		}
	}
}

// TestNoFlatTop: of an arch that is one behind the filter alone, the wave as it was
// recorded may lie at rest or below.
func TestNoFlatTop(t *testing.T) {
	for _, v := range [][]float64{{0.4, 0.4, 0.4}, {0.1, -0.2, 0.1}} {
		if heightV, is := Of(v, 0.4, 1, 64); is {
			t.Errorf("%v is flat at %g V", v, heightV)
		}
	}
}

// TestRoundTops: however few samples a round top has, and wherever they lie in it, it is
// not flat; nor are many, sampled in step with them.
func TestRoundTops(t *testing.T) {
	const restV = 0.4
	for _, perLobe := range []float64{6, 6.5, 7, 8, 9, 10, 11.5, 13, 17, 30} {
		for _, phase := range []float64{0, 0.1, 0.2, 0.3, 0.4, 0.5, 0.6, 0.7, 0.8, 0.9} {
			var one, many []float64
			for i := range 400 {
				x := math.Sin(math.Pi * (float64(i) + phase) / perLobe)
				if float64(i)+phase <= perLobe {
					one = append(one, restV+x)
				}
				many = append(many, restV+x)
			}
			if _, is := Of(one, restV, 1, 64); is {
				t.Errorf("%g samples from %g on: flat", perLobe, phase)
			}
			for _, side := range []float64{1, -1} {
				if _, is := Of(many, restV, side, 4093); is {
					t.Errorf("many of %g samples from %g on: flat to side %g", perLobe, phase, side)
				}
			}
		}
	}
}

// TestTopsBesideGap: round tops are not flat where one of each turn is much higher.
func TestTopsBesideGap(t *testing.T) {
	var v []float64
	for i := range 36 * 40 {
		x := math.Sin(2 * math.Pi * float64(i) / 40)
		if i < 40 {
			x *= 1.8
		}
		v = append(v, x)
	}
	for _, side := range []float64{1, -1} {
		if _, is := Of(v, 0, side, 4093); is {
			t.Errorf("flat to side %g", side)
		}
	}
}
