package threshold

import (
	"math"
	"math/rand/v2"

	"armcurve/captures"
)

// noiseHz is how many values of simulated noise there are in a second.
const noiseHz = 25e3

// noiseKind is a kind of noise: values of about unit size, smoothed by a filter
// of two poles so that its rate of crossings is finite.
type noiseKind struct {
	name string
	// smooth is the share of the difference that the filter follows in a step.
	smooth float64
	draw   func(r *rand.Rand, i int) float64
	// gaussian tells that its passages of a level are those of Rice's formula.
	gaussian bool
	// unbounded tells that no factor on the largest value seen is enough: its
	// tail is a power's.
	unbounded bool
}

var noiseKinds = []noiseKind{
	{"Gaussian", 0.5, func(r *rand.Rand, _ int) float64 { return r.NormFloat64() }, true, false},
	{"Gaussian, narrow band", 0.1, func(r *rand.Rand, _ int) float64 { return r.NormFloat64() }, true, false},
	{"Gaussian and a tone in one", 0.5, func(r *rand.Rand, i int) float64 {
		return r.NormFloat64() + 2*math.Sin(2*math.Pi*1170/noiseHz*float64(i))
	}, false, false},
	{"Laplace", 0.8, func(r *rand.Rand, _ int) float64 { return laplace(r) }, false, false},
	{"bursts", 0.5, func(r *rand.Rand, i int) float64 {
		if i%5000 < 500 { // 20 ms of every 200
			return 3 * r.NormFloat64()
		}
		return r.NormFloat64()
	}, false, false},
	{"impulses, 10 a second", 0.5, func(r *rand.Rand, _ int) float64 { return r.NormFloat64() + impulse(r, 10) }, false, false},
	{"impulses, 1 in two seconds", 0.5, func(r *rand.Rand, _ int) float64 { return r.NormFloat64() + impulse(r, 0.5) }, false, true},
	{"Student's t of 4", 0.8, func(r *rand.Rand, _ int) float64 {
		square := 0.0
		for range 4 {
			z := r.NormFloat64()
			square += z * z
		}
		return r.NormFloat64() / math.Sqrt(square/4)
	}, false, true},
}

func laplace(r *rand.Rand) float64 {
	v := r.ExpFloat64()
	if r.IntN(2) == 0 {
		return -v
	}
	return v
}

// impulse is one of some 12 standard deviations, so often in a second.
func impulse(r *rand.Rand, perS float64) float64 {
	if r.Float64() > perS/noiseHz {
		return 0
	}
	return 12 * (1 + 0.2*r.NormFloat64())
}

// noiseStream draws noise of a kind value by value.
type noiseStream struct {
	kind noiseKind
	r    *rand.Rand
	i    int
	a, b float64
}

func newNoiseStream(k noiseKind, r *rand.Rand) *noiseStream {
	n := &noiseStream{kind: k, r: r, i: r.IntN(5000)}
	for range 200 {
		n.next()
	}
	return n
}

func (n *noiseStream) next() float64 {
	n.i++
	n.a += n.kind.smooth * (n.kind.draw(n.r, n.i) - n.a)
	n.b += n.kind.smooth * (n.a - n.b)
	return n.b
}

// watch records the noise, times sigmaV, as an instrument shows it that counts,
// squares and holds the largest.
func (n *noiseStream) watch(sigmaV, seconds float64) captures.Reading {
	largest, sum, rises, before := 0.0, 0.0, 0, n.next()
	steps := int(seconds * noiseHz)
	for range steps {
		v := n.next()
		largest = math.Max(largest, v)
		sum += v * v
		if before <= 0 && v > 0 {
			rises++
		}
		before = v
	}
	return captures.Reading{
		NoiseV: captures.Some(sigmaV * largest), NoiseRMSV: captures.Some(sigmaV * math.Sqrt(sum/float64(steps))),
		NoiseRateHz: captures.Some(float64(rises) / seconds), NoiseRecordS: captures.Some(seconds),
	}
}

// passages counts how often the noise rises through each of the levels.
func (n *noiseStream) passages(seconds float64, levels ...float64) []int {
	count, before := make([]int, len(levels)), n.next()
	for range int(seconds * noiseHz) {
		v := n.next()
		if v > before {
			for i, level := range levels {
				if before <= level && v > level {
					count[i]++
				}
			}
		}
		before = v
	}
	return count
}
