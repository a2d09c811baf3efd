package replay

import (
	"math"
	"testing"

	"armcurve/captures"
	"armcurve/threshold"
)

// A false event behind the last tooth is one as anywhere else, up to where the
// next tooth may have been cut off with the wave; so is a low one before the
// first. What is as high as a tooth there may be one, if it falls where the wheel has
// one; and what falls where the tooth
// before the first did, whose rise is cut off, is what is left of it.
func TestEventsAtTheEnds(t *testing.T) {
	const pitch, teeth = 100, 41
	for _, c := range []struct {
		first          int     // where that falls
		before, behind int     // samples before the first tooth and behind the last, of a spike
		heightV        float64 // of it
		counted        int64
	}{
		{70, -1, 40, 0.9, 1}, {70, -1, 60, 0.9, 1}, {70, -1, 85, 0.9, 0}, {70, -1, 85, 0.4, 1}, {70, -1, 20, 0.4, 1},
		{70, 60, -1, 0.4, 1}, {70, 60, -1, 0.9, 1}, {70, 20, -1, 0.9, 1}, {110, 85, -1, 0.9, 0},
		{110, 95, -1, 0.4, 0}, {110, 60, -1, 0.4, 1},
	} {
		v := make([]float64, c.first+pitch*(teeth-1)+90)
		bulge := func(at int, heightV float64) { // falls at a position
			for k := range 8 {
				v[at-k] = heightV * math.Sin(math.Pi*float64(k)/8)
			}
		}
		for k := range teeth {
			bulge(c.first+pitch*k, 1)
		}
		if c.before > 0 {
			bulge(c.first-c.before, c.heightV)
		}
		if c.behind > 0 {
			bulge(c.first+pitch*(teeth-1)+c.behind, c.heightV)
		}
		if got := countsOfTeeth(t, v, c.first, pitch, teeth); got.False != c.counted || got.Missed != 0 {
			t.Errorf("%+v: %+v", c, got)
		}
	}
}

// countsOfTeeth are those at a threshold of 0.3 V of a wave of even teeth, the first of
// which falls at a position.
func countsOfTeeth(t *testing.T, v []float64, first, pitch, teeth int) Counts {
	t.Helper()
	wheel, err := captures.ParseWheel("4")
	if err != nil {
		t.Fatal(err)
	}
	r, err := New(captures.WaveInfo{StepS: 1e-3}, Options{
		Tables: []threshold.Table{threshold.NewTable([]threshold.Row{{RPM: 0, ThresholdV: captures.Some(0.3)}}, threshold.Linear)}, Wheel: wheel,
	})
	if err != nil {
		t.Fatal(err)
	}
	r.Wave(0, v)
	for k := range teeth {
		r.Tooth(captures.Tooth{Number: k%4 + 1, RPM: 60e3 / (4 * float64(pitch)), PeakV: 1}, true, float64(first+pitch*k), 0)
	}
	r.End()
	return r.inputs[0].result.Counts
}

// A tooth that begins with the wave is expected if there is room before it, and the wave
// has its rise; of one that has not, nothing can be told.
func TestFirstTooth(t *testing.T) {
	const pitch, teeth = 100, 41
	for _, c := range []struct {
		first, width int
		missed       int64
	}{{130, 20, 1}, {70, 20, 1}, {45, 20, 1}, {25, 20, 0}, {10, 20, 0}, {70, 50, 0}} {
		first, width, missed := c.first, c.width, c.missed
		v := make([]float64, first+pitch*(teeth-1)+90)
		for k := range teeth {
			heightV := 1.0
			if k == 0 {
				heightV = 0.2
			}
			fall := first + pitch*k
			for i := max(0, fall-width+1); i < fall; i++ {
				v[i] = heightV * math.Sin(math.Pi*float64(fall-i)/float64(width))
			}
		}
		got := countsOfTeeth(t, v, first, pitch, teeth)
		if want := (Counts{Expected: teeth - 1 + missed, Counted: teeth - 1, Missed: missed}); got != want {
			t.Errorf("%+v: %+v, want %+v", c, got, want)
		}
	}
}

// The speed at teeth before the first that has one is that one's.
func TestFirstSpeed(t *testing.T) {
	r, err := New(captures.WaveInfo{StepS: 1e-3}, Options{
		Tables: []threshold.Table{threshold.NewTable([]threshold.Row{{RPM: 0, ThresholdV: captures.Some(0.3)}}, threshold.Linear)},
	})
	if err != nil {
		t.Fatal(err)
	}
	const teeth = 41
	r.Wave(0, make([]float64, 100*(teeth+1)))
	for k := range teeth {
		next := captures.Tooth{Number: k%4 + 1, RPM: math.NaN(), PeakV: 1}
		if k > 2 {
			next.RPM = 150
		}
		r.Tooth(next, true, float64(100*(k+1)), 0)
	}
	r.End()
	res, err := r.Result(0, Facts{Signal: "reluctor"})
	if err != nil {
		t.Fatal(err)
	}
	if len(res.Bands) != 1 || res.Bands[0].FromRPM != 150 {
		t.Errorf("%+v", res.Bands)
	}
}
