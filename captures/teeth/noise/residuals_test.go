package noise

import (
	"math"
	"math/rand/v2"
	"testing"
)

// TestResidue: a standard deviation stays what it is when spikes are added, and
// the spikes are told apart.
func TestResidue(t *testing.T) {
	random := rand.New(rand.NewPCG(3, 4))
	var r Residuals
	for i := range 200000 {
		x := 0.3 * random.NormFloat64()
		if i%500 == 0 {
			x += 5
		}
		r.Add([]float64{x})
	}
	sigma, largest, spike, ok := r.body()
	if !ok || math.Abs(sigma/0.3-1) > 0.01 || largest < 0.9 || largest > 1.9 || spike < 5 {
		t.Errorf("sigma %g, largest %g, spike %g", sigma, largest, spike)
	}
}

// TestStruckPieces: what rings in some pieces, of sizes that noise has as well, is no
// part of it; and where a piece holds little that is independent, nothing is taken for
// struck that is not.
func TestStruckPieces(t *testing.T) {
	random := rand.New(rand.NewPCG(8, 2))
	for _, c := range []struct {
		name         string
		struck, keep float64 // share of the pieces; correlation of a sample with the next
		samples      int     // in a piece
	}{
		{"white", 0, 0, 8}, {"few samples", 0, 0, 2}, {"smooth", 0, 0.95, 30}, {"slow", 0, 0.99, 100}, {"long pieces", 0, 0, 200},
		{"struck", 0.3, 0, 12}, {"long ones struck", 0.3, 0, 60},
	} {
		var r Residuals
		x := 0.0
		for range 20000 {
			sigma := 0.0
			if random.Float64() < c.struck {
				sigma = 3 + 3*random.Float64()
			}
			r.Begin()
			for range c.samples {
				x = c.keep*x + math.Sqrt(1-c.keep*c.keep)*random.NormFloat64()
				r.Add([]float64{x + sigma*random.NormFloat64()})
			}
		}
		sigma, _, _, _ := r.body()
		near(t, c.name, sigma, 1, 0.03)
	}
}
