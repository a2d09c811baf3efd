package replay

import (
	"math"
	"strings"
	"testing"

	"armcurve/captures/simulate"
)

// counter counts what a viewer is told.
type counter struct {
	t               *testing.T
	end             int64
	counted, beside int64
	examples        []Example
}

func (c *counter) Wave(first int64, v []float64) { c.end = first + int64(len(v)) }

func (c *counter) Judged(j *Judgement) {
	if j.Counted {
		c.counted++
	}
	for _, e := range j.Events {
		if e.False {
			c.beside++
		}
		if e.ArmedAt > e.At || e.At > float64(c.end) || !(e.HeightV > e.ThresholdV) {
			c.t.Errorf("armed at %v over %v V, rising to %v V, counted at %v, the wave given up to %d", e.ArmedAt, e.ThresholdV, e.HeightV, e.At, c.end)
		}
	}
	c.examples = append(c.examples, j.Examples...)
}

// A viewer is told of every event that is counted, and each cause has an
// example among those it was given, which is one of the events listed.
func TestView(t *testing.T) {
	for _, name := range []string{
		"healthy-sweep", "roll-off", "ignition-spikes", "low-table", "cranking-dip", "starter-noise", "too-noisy", "run-out", "short-tooth",
		"gap-hump", "gap-lobe", "dropout", "clipped", "alternator", "injector",
	} {
		s, err := simulate.FindScenario(name)
		if err != nil {
			t.Fatal(err)
		}
		c := &counter{t: t}
		r, m := play(t, s, s.Captures[0], s.Tables[0], func(o *Options) { o.View, o.KeepEvents = c, true })
		res, err := r.Result(0, factsOf(m))
		if err != nil {
			t.Fatal(err)
		}
		if c.counted != res.Counted || c.beside != res.False {
			t.Errorf("%s: the viewer saw %d teeth counted and %d events beside them, the result has %d and %d",
				name, c.counted, c.beside, res.Counted, res.False)
		}
		for _, cause := range res.Causes {
			if cause.Example == 0 {
				t.Errorf("%s: no example of %s", name, cause.Kind)
				continue
			}
			x := c.examples[cause.Example-1]
			if x.Number != cause.Example || !listed(res.Events, x) {
				t.Errorf("%s: %+v is no event of %d", name, x, len(res.Events))
			}
			if cause.Kind == ShortTooth && x.Tooth != 14 {
				t.Errorf("the example of a short tooth is tooth %d", x.Tooth)
			}
		}
	}
}

func listed(events []Event, x Example) bool {
	for _, e := range events {
		if e.TimeS == x.TimeS && e.False == x.False && e.Tooth == x.Tooth && e.SignalV == x.SignalV {
			return true
		}
	}
	return false
}

// However many faults there are, few are kept as examples.
func TestExamplesAreFew(t *testing.T) {
	e := examples{looks: map[look]bool{}}
	for i := range 100000 {
		e.add(&fault{at: float64(i), rpm: float32(i % 9000), tooth: uint16(i % 300), flags: flags(i % 512)}, Event{})
	}
	if len(e.list) != mostExamples || len(e.fresh) != mostExamples {
		t.Errorf("%d kept, want %d", len(e.list), mostExamples)
	}
}

// Places are those of the false events, on the wheel that was found where none
// was stated.
func TestPlaces(t *testing.T) {
	s, err := simulate.FindScenario("ignition-spikes")
	if err != nil {
		t.Fatal(err)
	}
	stated := s.Setup.CrankWheel
	s.Setup.CrankWheel = ""
	r, m := play(t, s, s.Captures[0], s.Tables[0], func(o *Options) { o.KeepEvents = true })
	facts := factsOf(m)
	facts.Wheel = m.Wheel
	res, err := r.Result(0, facts)
	if err != nil {
		t.Fatal(err)
	}
	if m.Wheel.String() != stated || int64(len(res.Places)) != res.False || res.PlacesEach != 1 {
		t.Fatalf("%d places, one for each of %d, of %d false events on a %s", len(res.Places), res.PlacesEach, res.False, m.Wheel)
	}
	for i, p := range res.Places {
		if e := res.Events[i]; !e.CrankDeg.Known || e.CrankDeg.Value != p.CrankDeg || math.Abs(p.CrankDeg-351) > 4 {
			t.Errorf("at %v degrees, the event at %v", p.CrankDeg, e.CrankDeg)
		}
	}
}

// A table that ends below the speeds of a capture, or begins above them, is a
// finding that says what held there.
func TestTableRange(t *testing.T) {
	s, err := simulate.FindScenario("healthy-sweep")
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct {
		rows []simulate.Row
		says []string
	}{
		{[]simulate.Row{{RPM: 0, ThresholdV: 0.3}, {RPM: 9000, ThresholdV: 1}}, nil},
		{[]simulate.Row{{RPM: 0, ThresholdV: 0.3}, {RPM: 4000, ThresholdV: 1}}, []string{"no row above 4000 rpm: up to 7"}},
		{[]simulate.Row{{RPM: 2000, ThresholdV: 0.3}, {RPM: 9000, ThresholdV: 1}}, []string{"no row below 2000 rpm: from 8"}},
		{[]simulate.Row{{RPM: 3000, ThresholdV: 99}}, []string{"last threshold was held, 99.0 V, with ", "first threshold was held, 99.0 V, with "}},
	} {
		r, m := play(t, s, s.Captures[0], simulate.Table{Sensor: "crank", Rows: c.rows}, nil)
		res, err := r.Result(0, factsOf(m))
		if err != nil {
			t.Fatal(err)
		}
		if len(res.Findings) != len(c.says) {
			t.Errorf("%v: %+v", c.rows, res.Findings)
			continue
		}
		for i, f := range res.Findings {
			if f.Kind != TableRange || f.Advice == "" || !strings.Contains(f.Text, c.says[i]) {
				t.Errorf("%v: %+v, want %q", c.rows, f, c.says[i])
			}
		}
	}
}
