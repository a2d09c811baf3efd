package noise

import (
	"math"
	"math/rand/v2"
	"testing"
)

// TestJudge: the quietest method and part of the pitch is taken where it is clearly
// the quietest, and not the lowest of several alike.
func TestJudge(t *testing.T) {
	random := rand.New(rand.NewPCG(8, 1))
	take := func(s *ByPart, sigma ...float64) {
		for range 40 {
			for k := range s {
				s[k].Begin()
				for range 25 {
					s[k].Add([]float64{sigma[k] * random.NormFloat64()})
				}
			}
		}
	}
	// White noise of 1 leaves this, where two others with noise are taken away.
	whole := math.Sqrt(surplus(BesideTurns, 0))
	for _, c := range []struct {
		name                string
		turns, teeth, pause []float64
	}{
		{"all alike", []float64{1, 1, 1, 1}, []float64{1, 1, 1, 1}, []float64{1, 1, 1, 1}},
		{"turns alike", []float64{1, 1, 1, 1}, []float64{5, 3, 3, 5}, []float64{4, 4, 4, 4}},
		{"teeth alike", []float64{5, 3, 3, 5}, []float64{1, 1, 1, 1}, []float64{9, 9, 9, 9}},
		{"alike where it is flat", []float64{5, 1, 1, 4}, []float64{7, 3, 3, 7}, []float64{9, 9, 9, 9}},
	} {
		mean, runs := 0.0, 40
		for range runs {
			var n ByMethod
			take(n.In(BesideTurns), scaled(c.turns, whole)...)
			take(n.In(BesideTeeth), scaled(c.teeth, whole)...)
			take(n.In(InPauses), c.pause...)
			h, ok := n.Level(n.IsUnsteady())
			if !ok {
				t.Fatalf("%s: nothing to judge", c.name)
			}
			mean += h.SigmaV / float64(runs)
		}
		near(t, c.name, mean, 1, 0.03)
	}
}

func scaled(values []float64, by float64) (all []float64) {
	for _, v := range values {
		all = append(all, v*by)
	}
	return all
}

// TestOffAsAWhole: where the speed changes from tooth to tooth, a part of a pitch that is
// off as a whole against other turns is no spike; what stands out of its part is one.
func TestOffAsAWhole(t *testing.T) {
	const pieces, samples, height = 400, 50, 12
	for _, c := range []struct {
		name     string
		unsteady bool
		what     func(x float64) float64 // over a piece, from −1 to 1
		isSpike  bool
	}{
		{"none, unsteady", true, func(x float64) float64 { return 0 }, false},
		{"a parabola, unsteady", true, func(x float64) float64 { return height * (1 - x*x) }, false},
		{"a slope, unsteady", true, func(x float64) float64 { return height * max(0, x) }, false},
		{"a parabola, steady", false, func(x float64) float64 { return height * (1 - x*x) }, true},
		{"a narrow rise, unsteady", true, func(x float64) float64 { return height * math.Exp(-400*x*x) }, true},
	} {
		random := rand.New(rand.NewPCG(5, 2))
		var n ByMethod
		for i := range pieces {
			for k := range segments {
				r := &n.In(BesideTurns)[k]
				r.Begin()
				for s := range samples {
					v := random.NormFloat64()
					if i%100 == 50 {
						v += c.what(2*float64(s)/(samples-1) - 1)
					}
					r.Add([]float64{v})
				}
			}
		}
		if l, ok := n.Level(c.unsteady); !ok || (l.spikeV > 0) != c.isSpike {
			t.Errorf("%s: spikes of %.1f, judged: %v", c.name, l.spikeV, ok)
		}
	}
}
