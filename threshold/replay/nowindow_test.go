package replay

import (
	"math"
	"math/rand/v2"
	"testing"
)

// Noise leaves no threshold where it rises as high as teeth beside it, whatever
// the teeth of other speeds do.
func TestNoWindow(t *testing.T) {
	random := rand.New(rand.NewPCG(3, 4))
	for _, noise := range []float64{0.1, 0.3, 0.8, 1.5} {
		var b blocks
		for i := range 40 * blockTeeth {
			speed := math.Exp(float64(i) / 400)
			b.tooth(speed*(0.9+0.1*random.Float64()), speed*noise*random.Float64())
		}
		if is, want := b.areShut(), noise > 1; is != want {
			t.Errorf("noise up to %g of a tooth: shut %v in %d of %d", noise, is, len(b.shutTeeth), b.all)
		}
	}
}

// What is odd once or twice in a turn is no noise, however high it rises and whatever it
// does to teeth.
func TestFewOddOnesAreNoNoise(t *testing.T) {
	var b blocks
	for i := range 40 * blockTeeth {
		heightV, otherV := 1.0, 0.1
		switch i % 35 {
		case 3:
			heightV, otherV = 0, 1.2
		case 20:
			heightV, otherV = 0.4, 0.6
		}
		b.tooth(heightV, otherV)
	}
	if b.areShut() {
		t.Errorf("shut in %d of %d", len(b.shutTeeth), b.all)
	}
}
