package replay

import (
	"testing"

	"armcurve/captures"
)

// A tooth's place ends where the next one begins, the last one's at the end of the
// turn, whether the wheel is told by pitches or by angles.
func TestCrankDeg(t *testing.T) {
	for _, c := range []struct {
		wheel    string
		tooth    int
		from, to float64
	}{
		{"12-1", 1, 0, 30},
		{"12-1", 11, 300, 360},
		{"@60,240,300", 1, 0, 180},
		{"@60,240,300", 3, 240, 360},
	} {
		w, err := captures.ParseWheel(c.wheel)
		if err != nil {
			t.Fatal(err)
		}
		r := &Replay{wheel: w}
		for part, want := range []float64{c.from, c.to} {
			if got := r.crankDeg(c.tooth, float32(part)); got != captures.Some(want) {
				t.Errorf("%s: tooth %d, part %d of the way: %v, want %g", c.wheel, c.tooth, part, got, want)
			}
		}
	}
}
