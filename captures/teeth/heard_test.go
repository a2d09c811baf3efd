package teeth

import (
	"math"
	"math/rand/v2"
	"testing"

	"armcurve/captures/teeth/noise"
)

// TestHeardAt: noise that was compared between unlike teeth alone is judged by a speed near
// by, at which turns were compared, and not by one far off.
func TestHeardAt(t *testing.T) {
	const noiseV, differV = 1.0, 1.5
	random := rand.New(rand.NewPCG(3, 9))
	at := func(rpm float64, comparesTurns bool) *bin {
		b := newBin(0, 35)
		b.rpm, b.teeth = rpm, 1
		var n noise.ByMethod
		take := func(method int, sigmaV float64) {
			for range 100 {
				for k := range n.In(method) {
					n.In(method)[k].Begin()
					for range 25 {
						n.In(method)[k].Add([]float64{sigmaV * random.NormFloat64()})
					}
				}
			}
		}
		if comparesTurns {
			take(noise.BesideTurns, noiseV)
		}
		take(noise.BesideTeeth, math.Hypot(noiseV, differV))
		b.noise.Add(&n, &b.noise)
		return b
	}
	got := heardAt([]*bin{at(1000, false), at(1040, true), at(1500, false)})
	ratio := math.Hypot(noiseV, differV) / noiseV
	for i, want := range []float64{1, 1, ratio} {
		if r := got[i].SigmaV / got[1].SigmaV; math.Abs(r/want-1) > 0.07 {
			t.Errorf("bin %d: %.2f times the noise, want %.2f", i, r, want)
		}
	}
}
