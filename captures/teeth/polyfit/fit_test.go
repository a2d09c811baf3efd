package polyfit

import (
	"math"
	"testing"
)

// TestEven: the fit of a polynomial's values is that polynomial, and leaves nothing.
func TestEven(t *testing.T) {
	want := Polynomial{0.3, -2, 1, 0.5, -0.7, 0.2}
	for n := MaxOrder + 1; n <= MostPoints; n++ {
		y := make([]float64, n)
		for i := range y {
			y[i] = want.At((2*float64(i)+1)/float64(n) - 1)
		}
		var f Fit
		f.Even(y, MaxOrder)
		for k, c := range f.Polynomial(MaxOrder) {
			if math.Abs(c-want[k]) > 1e-9 {
				t.Errorf("%d points: %g to the power %d, want %g", n, c, k, want[k])
			}
		}
		if left := f.Misfit(MaxOrder); left > 1e-6 {
			t.Errorf("%d points: %g is left", n, left)
		}
	}
}
