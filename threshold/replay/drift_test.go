package replay

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"
)

// pull is an inquiry of false events, one each turn of a pull.
func pull(t *testing.T, wheel string, deg []float64) *inquiry {
	q := inquiryOf(t, wheel, deg)
	for i := range q.faults {
		q.faults[i].rpm *= 1 + 2*float32(i)/float32(len(deg))
	}
	return q
}

// drifting is the share of false events that are part of a drift.
func drifting(q *inquiry) float64 {
	list, n := q.drifts(), 0
	for i := range q.faults {
		f := &q.faults[i]
		if deg, ok := q.foldedDeg(f); ok && slices.ContainsFunc(list, func(d drift) bool { return d.has(f, deg) }) {
			n++
		}
	}
	return float64(n) / float64(len(q.faults))
}

// Sparks are told by what they share with the one before, though their angle moves
// with the advance through a gap, across teeth, or from one cylinder to the next.
func TestDrift(t *testing.T) {
	random := rand.New(rand.NewPCG(5, 6))
	for _, n := range []int{15, 40, 200} {
		for _, cylinders := range []int{3, 4, 6, 8} {
			deg := make([]float64, n)
			for i := range deg {
				firing := float64(random.IntN(cylinders)) * 720 / float64(cylinders)
				deg[i] = math.Mod(firing+165-min(0.8, 30/float64(n))*float64(i)+0.2*random.NormFloat64(), 360)
				if i%6 == 5 {
					deg[i] = 350 * random.Float64() // of some noise
				}
			}
			if share := drifting(pull(t, "36-2-2-2", deg)); share < 0.75 {
				t.Errorf("of %d sparks of %d cylinders and a little noise only %.2f go with the one before", n, cylinders, share)
			}
		}
	}
}

// Noise comes where the wave leaves it room, anywhere, between all teeth or in a gap,
// whose hump moves a little with the coil's lag. At one speed no advance moves, and what
// comes a little later from turn to turn has another clock. In a burst events follow each
// other closely, which is no angle of theirs.
func TestNoiseDoesNotDrift(t *testing.T) {
	const draws = 300
	random := rand.New(rand.NewPCG(7, 8))
	for name, noise := range map[string]func(part float64) float64{
		"anywhere":          func(float64) float64 { return 350 * random.Float64() },
		"between the teeth": func(float64) float64 { return (float64(random.IntN(34)) + 0.5 + 0.1*random.NormFloat64()) * 10 },
		"in the gap":        func(part float64) float64 { return 350 + 3*part + 1.5*random.NormFloat64() },
	} {
		for _, n := range []int{5, 15, 50, 200} {
			taken := 0
			for range draws {
				deg := make([]float64, n)
				for i := range deg {
					deg[i] = math.Mod(noise(float64(i)/float64(n)), 360)
				}
				if drifting(pull(t, "36-1", deg)) > 0 {
					taken++
				}
			}
			if taken > draws/100 {
				t.Errorf("%s: of %d times %d events %d are taken for a drift", name, draws, n, taken)
			}
		}
	}
	steady := inquiryOf(t, "36-1", []float64{101, 102, 103, 104, 105, 106, 107, 108, 109, 110, 111, 112, 113, 114, 115, 116})
	if share := drifting(steady); share > 0 {
		t.Errorf("at one speed %.2f are taken for a drift", share)
	}
	burst := pull(t, "36-1", []float64{100, 101, 102, 103, 200, 201, 202, 203, 300, 301, 302, 303, 10, 11, 12, 13})
	for i := range burst.faults {
		burst.faults[i].at = float64(i/4) + 0.003*float64(i%4)
	}
	if share := drifting(burst); share > 0 {
		t.Errorf("of bursts %.2f are taken for a drift", share)
	}
}
