package wheels

import (
	"math"
	"testing"

	"armcurve/captures"
)

// TestGapArithmetic: the interval at a gap of m teeth is m+1 pitches, and pulses
// come N−m in a turn.
func TestGapArithmetic(t *testing.T) {
	for _, c := range []struct {
		wheel      string
		teeth      int
		pitch, gap float64 // degrees
	}{{"60-2", 58, 6, 18}, {"36-1", 35, 10, 20}, {"36-2", 34, 10, 30}, {"24-1", 23, 15, 30}, {"12-1", 11, 30, 60}} {
		p := New(GapsOf(parsed(t, c.wheel)))
		n := len(p.Parts)
		if n != c.teeth || math.Abs(360*p.Parts[0]-c.pitch) > 1e-9 || math.Abs(360*p.Parts[n-1]-c.gap) > 1e-9 || p.Regular(n-1) || !p.AfterGap(0) {
			t.Errorf("%s: %d teeth, %g° and %g°", c.wheel, n, 360*p.Parts[0], 360*p.Parts[n-1])
		}
	}
}

func parsed(t *testing.T, text string) captures.Wheel {
	t.Helper()
	w, err := captures.ParseWheel(text)
	if err != nil {
		t.Fatal(err)
	}
	return w
}

// placesFrom lists places a pitch apart.
func placesFrom(from, to float64) []float64 {
	var places []float64
	for place := from; place <= to; place++ {
		places = append(places, place)
	}
	return places
}
