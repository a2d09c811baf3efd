package noise

import (
	"math"
	"testing"
)

func near(t *testing.T, what string, got, want, share float64) {
	t.Helper()
	if !(math.Abs(got-want) <= share*math.Abs(want)) {
		t.Errorf("%s: %.6g, want %.6g within %g %%", what, got, want, 100*share)
	}
}
