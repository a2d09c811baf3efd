package teeth

import (
	"math"
	"math/rand/v2"
	"testing"
)

// TestPlacesHeld: of places that differ by noise alone nearly nothing is followed; of those
// that differ by the engine's doing as much as leaves the squares of what is held as large
// as noise's own; and a place far off is followed, whoever's doing it is.
func TestPlacesHeld(t *testing.T) {
	const noise, swing = 0.01, 0.03
	for _, swings := range []bool{false, true} {
		random := rand.New(rand.NewPCG(3, 5))
		v := vertex{}
		sum, n := 0.0, 0.0
		for i := range 4000 {
			place := 0.2 + noise*random.NormFloat64()
			if swings {
				place += swing * math.Sin(2*math.Pi*float64(i)/18)
			}
			v.learn(place)
			if i > 200 {
				off := v.place - place
				sum, n = sum+math.Pow(v.held(off)*off, 2), n+1
			}
		}
		held := math.Sqrt(sum / n)
		t.Logf("swings %v: held %.4f of noise of %g", swings, held, noise)
		if !within(held, noise, 1.3) {
			t.Errorf("swings %v: places are held by %.4f, want about %g", swings, held, noise)
		}
		if far := v.held(0.3) * 0.3; far > noise {
			t.Errorf("a place 0.3 off is held by %.4f", far)
		}
	}
}
