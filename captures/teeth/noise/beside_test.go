package noise

import (
	"math"
	"math/rand/v2"
	"testing"
)

// TestBeside: noise of 1 that could only be compared between teeth, which differ by 1.2, is
// told by a speed near by at which turns were compared as well; noise of 2 there stays so,
// and what is compared by no method at both is left.
func TestBeside(t *testing.T) {
	random := rand.New(rand.NewPCG(8, 2))
	const differ = 1.2
	take := func(a *AtSpeed, method int, sigmaV float64) {
		s := a.all.In(method)
		for range 400 {
			for k := range s {
				s[k].Begin()
				for range 25 {
					s[k].Add([]float64{sigmaV * math.Sqrt(surplus(method, 0)) * random.NormFloat64()})
				}
			}
		}
	}
	var beside AtSpeed
	take(&beside, BesideTurns, 1)
	take(&beside, BesideTeeth, math.Hypot(1, differ))
	besideLevel, _, _ := beside.Level()
	for _, c := range []struct {
		name   string
		method int
		noiseV float64
		wantV  float64
	}{
		{"the same noise", BesideTeeth, 1, 1},
		{"twice the noise", BesideTeeth, 2, 2},
		{"another method", UnsteadyBeside, 1, math.Hypot(1, differ)},
	} {
		var here AtSpeed
		take(&here, c.method, math.Hypot(c.noiseV, differ))
		own, _, ok := here.Level()
		if !ok {
			t.Fatalf("%s: nothing to judge", c.name)
		}
		level := here.Beside(own, &beside, besideLevel, 0)
		near(t, c.name, level.SigmaV, c.wantV, 0.05)
		near(t, c.name+", the largest", level.LargestV/level.SigmaV, own.LargestV/own.SigmaV, 0.05)
	}
}
