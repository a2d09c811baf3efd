package median

import (
	"math"
	"math/rand/v2"
	"testing"
)

// TestRunning: the medians about each value are those of the values there.
func TestRunning(t *testing.T) {
	random := rand.New(rand.NewPCG(1, 2))
	for n := range 12 {
		x := make([]float64, n)
		for i := range x {
			x[i] = float64(random.IntN(6))
		}
		for near := range 5 {
			for i, got := range Running(x, near) {
				if want := Of(x[max(0, i-near):min(n, i+near+1)]); got != want {
					t.Errorf("%v, %d near: %g at %d, want %g", x, near, got, i, want)
				}
			}
		}
	}
	if !math.IsNaN(Of(nil)) {
		t.Error("nothing has a median")
	}
}
