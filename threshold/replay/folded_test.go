package replay

import (
	"math/rand/v2"
	"sort"
	"testing"

	"armcurve/captures"
)

// inquiryOf has false events at some crank angles of a wheel, one each turn.
func inquiryOf(t *testing.T, wheel string, deg []float64) *inquiry {
	t.Helper()
	w, err := captures.ParseWheel(wheel)
	if err != nil {
		t.Fatal(err)
	}
	q := &inquiry{Replay: &Replay{wheel: w}}
	q.info.StepS = 1
	for i, d := range deg {
		pitch := d / w.PitchDeg()
		k := sort.Search(len(w.Positions), func(i int) bool { return float64(w.Positions[i]) > pitch }) - 1
		next := w.Pitches
		if k+1 < len(w.Positions) {
			next = w.Positions[k+1]
		}
		part := (pitch - float64(w.Positions[k])) / float64(next-w.Positions[k])
		q.faults = append(q.faults, fault{at: float64(i), rpm: 60, flags: isFalse, tooth: uint16(k + 1), part: float32(part)})
	}
	return q
}

// gathered is the share of false events that are at a place where they gather.
func gathered(q *inquiry) float64 {
	turn, n := q.fold(), 0
	for i := range q.faults {
		if deg, ok := q.foldedDeg(&q.faults[i]); ok && turn.isPlace(deg) {
			n++
		}
	}
	return float64(n) / float64(len(q.faults))
}

// Noise does not gather at angles, though the teeth leave it room at one place
// of each pitch only, or in the gap alone; sparks do, few or many.
func TestFolded(t *testing.T) {
	random := rand.New(rand.NewPCG(1, 2))
	for _, wheel := range []string{"12-1", "24-1", "36-1", "36-2", "36-2-2-2", "60-2"} {
		w, err := captures.ParseWheel(wheel)
		if err != nil {
			t.Fatal(err)
		}
		lastDeg := float64(w.Positions[len(w.Positions)-1]) * w.PitchDeg()
		for _, n := range []int{10, 30, 100, 1000} {
			between, inGap, sparks := make([]float64, n), make([]float64, n), make([]float64, n)
			for i := range n {
				between[i] = (float64(random.IntN(w.Pitches)) + 0.5 + 0.1*random.NormFloat64()) * w.PitchDeg()
				inGap[i] = lastDeg + (0.5+0.1*random.NormFloat64())*(360-lastDeg)
				sparks[i] = []float64{66, 246}[random.IntN(2)] + 4*random.ExpFloat64()
			}
			if share := gathered(inquiryOf(t, wheel, between)); share > leastShare {
				t.Errorf("%s: of %d events between the teeth %.2f gather", wheel, n, share)
			}
			if share := gathered(inquiryOf(t, wheel, inGap)); share > leastShare {
				t.Errorf("%s: of %d events in the gap %.2f gather", wheel, n, share)
			}
			if share := gathered(inquiryOf(t, wheel, sparks)); n > 10 && share < 0.6 {
				t.Errorf("%s: of %d events after sparks only %.2f gather", wheel, n, share)
			}
		}
	}
}

// What comes at one angle in one turn only is not there turn by turn.
func TestFoldedWithinATurn(t *testing.T) {
	deg := make([]float64, 20)
	for i := range deg {
		deg[i] = 66 + 0.1*float64(i)
	}
	q := inquiryOf(t, "36-1", deg)
	for i := range q.faults {
		q.faults[i].at = 0.001 * float64(i)
	}
	if share := gathered(q); share > 0 {
		t.Errorf("of the events of one turn %.2f gather", share)
	}
}

// A few sparks of an engine that fires every half turn are enough; as few events
// of noise hardly ever look like that.
func TestFewFolded(t *testing.T) {
	if share := gathered(inquiryOf(t, "36-1", []float64{155.7, 155.7, 335.8, 155.7, 155.8, 335.7})); share != 1 {
		t.Errorf("of six sparks %.2f gather", share)
	}
	const draws = 400
	random := rand.New(rand.NewPCG(3, 4))
	for _, n := range []int{4, 6, 10, 15, 20} {
		taken := 0
		for range draws {
			deg := make([]float64, n)
			for i := range deg {
				deg[i] = 340 * random.Float64()
			}
			if gathered(inquiryOf(t, "36-1", deg)) >= leastShare {
				taken++
			}
		}
		if taken > draws/50 {
			t.Errorf("of %d times %d events of noise, %d are taken for sparks", draws, n, taken)
		}
	}
}
