package replay

import (
	"math"
	"math/rand/v2"
	"testing"

	"armcurve/captures"
)

// TestRestLevel: in noise the rest level is a mean over all teeth, from the first one on;
// where it moves it is followed.
func TestRestLevel(t *testing.T) {
	const turn, teeth, movedAt = 35, 8000, 6000
	worst, early := 0.0, 0.0
	for seed := range uint64(20) {
		random := rand.New(rand.NewPCG(seed, 1))
		l, told := restLevel{}, make([]float64, 0, teeth)
		for k := range teeth {
			told = append(told, random.NormFloat64())
			mean := 0.0
			for _, v := range told[max(0, len(told)-turn):] {
				mean += v / float64(min(len(told), turn))
			}
			if k >= movedAt {
				mean++
			}
			switch {
			case l.known:
				l.meet(tooth{restV: mean}, turn)
			case l.wait(tooth{restV: mean, at: float64(100 * k)}):
				l.settle(turn)
				early += l.levelV * l.levelV / 20
			}
			if k == movedAt-1 {
				worst = max(worst, math.Abs(l.levelV))
			}
		}
		if math.Abs(l.levelV-1) > 0.2 {
			t.Errorf("seed %d: %.3f at the end, want 1", seed, l.levelV)
		}
	}
	if early = math.Sqrt(early); early > 0.12 {
		t.Errorf("off by %.3f at first, want as little as %d teeth tell", early, restTeeth)
	}
	if worst > 0.05 {
		t.Errorf("off by %.3f at worst after %d teeth", worst, movedAt)
	}
	t.Logf("first %.3f, then %.3f at worst", early, worst)
}

// However long a capture is, what is kept of its rest level does not grow, and tells
// the same.
func TestRestLevelIsBounded(t *testing.T) {
	var b blockLevels
	random := rand.New(rand.NewPCG(3, 4))
	for range 10 * mostBlocks {
		b.add(0.2 + 0.01*random.NormFloat64())
	}
	if len(b.sorted) > mostBlocks || math.Abs(b.levelV-0.2) > 0.002 || math.Abs(b.deviationV-0.01) > 0.001 {
		t.Errorf("%d kept, %.4f V, %.4f V about it; want 0.2 and 0.01", len(b.sorted), b.levelV, b.deviationV)
	}
}

// TestRestLevelOfCutTeeth: teeth that are cut off shift what is told of the rest level,
// and while they all are it is held. The comparator's level moves by none of that: a
// threshold just beyond the rail would let some teeth through.
func TestRestLevelOfCutTeeth(t *testing.T) {
	const turn, peakV, heldV = 35, 6.0, -0.005
	random := rand.New(rand.NewPCG(5, 6))
	l := restLevel{known: true}
	for range 20 * turn {
		l.meet(tooth{Tooth: captures.Tooth{PeakV: peakV}, restV: 0.0005 * random.NormFloat64()}, turn)
	}
	before := l.levelV
	meet := func(restV float64) {
		l.meet(tooth{Tooth: captures.Tooth{PeakV: math.NaN()}, restV: restV}, turn)
		if l.levelV != before {
			t.Fatalf("moved by %.4f V", l.levelV-before)
		}
	}
	for range 2 * turn {
		meet(heldV * random.Float64())
	}
	for range 100 * turn {
		meet(heldV)
	}
	for range 5 * turn {
		meet(1.4*heldV + 0.0005*random.NormFloat64())
	}
}
