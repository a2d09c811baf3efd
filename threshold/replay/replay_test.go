package replay

import (
	"fmt"
	"math"
	"slices"
	"sort"
	"testing"

	"armcurve/captures"
	"armcurve/captures/simulate"
	"armcurve/captures/teeth"
	"armcurve/threshold"
)

var recordings = map[string]*recording{}

// recorded measures a capture of a scenario and keeps what passed, for the other
// tests too.
func recorded(t testing.TB, name string) (*recording, simulate.Scenario) {
	t.Helper()
	s, err := simulate.FindScenario(name)
	if err != nil {
		t.Fatal(err)
	}
	if w := recordings[name]; w != nil {
		return w, s
	}
	source, err := simulate.Open(s.Captures[0])
	if err != nil {
		t.Fatal(err)
	}
	w := &recording{info: source.Info()}
	recordings[name] = w
	wheel, err := captures.ParseWheel(s.Setup.CrankWheel)
	if err != nil {
		t.Fatal(err)
	}
	if _, err := teeth.Measure(source, teeth.Options{Wheel: wheel, Watch: w}); err != nil {
		t.Fatal(err)
	}
	return w, s
}

// feed plays a recording, in pieces of some samples.
func (w *recording) feed(t testing.TB, o Options, piece int) *Replay {
	t.Helper()
	r, err := New(w.info, o)
	if err != nil {
		t.Fatal(err)
	}
	k := 0
	for from := 0; from < len(w.v); from += piece {
		to := min(from+piece, len(w.v))
		r.Wave(int64(from), w.v[from:to])
		for ; k < len(w.passed) && int64(w.passed[k].At)+1 <= int64(to); k++ {
			p := w.passed[k]
			r.Tooth(p.Tooth, p.Seen, p.At, p.RestV)
		}
	}
	r.End()
	return r
}

func optionsOf(t testing.TB, s simulate.Scenario) Options {
	t.Helper()
	wheel, err := captures.ParseWheel(s.Setup.CrankWheel)
	if err != nil {
		t.Fatal(err)
	}
	return Options{Tables: []threshold.Table{tableOf(s.Tables[0].Rows)}, Wheel: wheel, CrankingRPM: s.Setup.CrankingRPM, KeepEvents: true}
}

// Every event is the same, one by one, in the plain replay and here, with every
// option.
func TestReplayIsThePlainOne(t *testing.T) {
	options := map[string]func(*Options){
		"plain":      func(*Options) {},
		"hysteresis": func(o *Options) { o.HysteresisV = 0.4 },
		"clamp":      func(o *Options) { o.ClampV = captures.Some(5.5) },
		"filter":     func(o *Options) { o.FilterHz = captures.Some(6000) },
		"level":      func(o *Options) { o.CountsOn = Level },
		"interval":   func(o *Options) { o.SpeedFrom = Interval },
		"steps":      func(o *Options) { o.Tables[0].BetweenRows = threshold.Step },
		"all": func(o *Options) {
			o.HysteresisV, o.ClampV, o.FilterHz, o.CountsOn, o.SpeedFrom = 0.2, captures.Some(8), captures.Some(9000), Level, Interval
			o.Tables[0].BetweenRows = threshold.Step
		},
	}
	for _, name := range []string{"ignition-spikes", "too-noisy", "roll-off", "fixed-tone", "cranking-dip"} {
		w, s := recorded(t, name)
		for option, change := range options {
			if option != "plain" && option != "all" && name != "ignition-spikes" && name != "too-noisy" {
				continue
			}
			o := optionsOf(t, s)
			change(&o)
			r := w.feed(t, o, 3001)
			got := r.inputs[0].result.events
			sort.SliceStable(got, func(i, j int) bool { return got[i].TimeS < got[j].TimeS })
			compareEvents(t, name+", "+option, got, plainReplay(w, o, o.Wheel.TeethPresent()))
		}
	}
}

func compareEvents(t *testing.T, name string, got, want []Event) {
	t.Helper()
	if len(got) != len(want) {
		for i := range min(len(got), len(want)) {
			if math.Abs(got[i].TimeS-want[i].TimeS) > 1e-9 {
				t.Errorf("%s: %d events, want %d; the first that differs is %+v, want %+v", name, len(got), len(want), got[i], want[i])
				return
			}
		}
		t.Errorf("%s: %d events, want %d", name, len(got), len(want))
		return
	}
	for i, g := range got {
		w := want[i]
		same := math.Abs(g.TimeS-w.TimeS) < 1e-9 && g.False == w.False && g.Unseen == w.Unseen
		if g.False {
			same = same && math.Abs(g.SignalV-w.SignalV) < 1e-5 && math.Abs(g.ThresholdV.Value-w.ThresholdV.Value) < 1e-5
		} else {
			same = same && g.Tooth == w.Tooth
		}
		if !same {
			t.Errorf("%s: event %d is %+v, want %+v", name, i, g, w)
			return
		}
	}
}

// The size of the pieces that a wave comes in changes nothing.
func TestPiecesOfTheWave(t *testing.T) {
	w, s := recorded(t, "too-noisy")
	o := optionsOf(t, s)
	o.FilterHz, o.CountsOn = captures.Some(8000), Level
	want := w.feed(t, o, len(w.v)).inputs[0].result
	for _, piece := range []int{97, 4096, 50001} {
		got := w.feed(t, o, piece).inputs[0].result
		if fmt.Sprint(got.Counts, got.events) != fmt.Sprint(want.Counts, want.events) {
			t.Errorf("pieces of %d: %+v, want %+v", piece, got.Counts, want.Counts)
		}
	}
}

// Several tables in one pass do what each does alone.
func TestTablesSideBySide(t *testing.T) {
	w, s := recorded(t, "roll-off")
	o := optionsOf(t, s)
	low := threshold.NewTable([]threshold.Row{{RPM: 0, ThresholdV: captures.Some(0.02)}}, threshold.Linear)
	both := o
	both.Tables = []threshold.Table{o.Tables[0], low}
	pair := w.feed(t, both, 4096)
	for i, table := range both.Tables {
		o.Tables = []threshold.Table{table}
		alone := w.feed(t, o, 4096).inputs[0].result
		if fmt.Sprint(alone.events) != fmt.Sprint(pair.inputs[i].result.events) {
			t.Errorf("table %d: %+v beside another, %+v alone", i, pair.inputs[i].result.Counts, alone.Counts)
		}
	}
}

// The safe interval of every band is where thresholds of all heights, each
// replayed, begin and cease to make no fault: to one step of them.
func TestSafeIntervalsByBruteForce(t *testing.T) {
	const step = 1.07
	for _, name := range []string{"ignition-spikes", "too-noisy", "healthy-start"} {
		w, s := recorded(t, name)
		o := optionsOf(t, s)
		o.KeepEvents, o.Tables = false, nil
		var levels []float64
		for v := 0.01; v < 40; v *= step {
			levels = append(levels, v)
			o.Tables = append(o.Tables, threshold.NewTable([]threshold.Row{{RPM: 0, ThresholdV: captures.Some(v)}}, threshold.Linear))
		}
		r := w.feed(t, o, 1<<14)
		first, err := r.Result(0, Facts{})
		if err != nil {
			t.Fatal(err)
		}
		for i, band := range first.Bands {
			lowest, highest := math.Inf(1), 0.0
			for k, v := range levels {
				res, err := r.Result(k, Facts{})
				if err != nil {
					t.Fatal(err)
				}
				if res.Bands[i].False == 0 && res.Bands[i].Counted > 0 {
					lowest = min(lowest, v)
				}
				if res.Bands[i].Missed == 0 {
					highest = max(highest, v)
				}
			}
			if want := max(band.LowestSafeV.Value, levels[0]/step); lowest < want*(1-1e-9) || lowest > want*step*(1+1e-9) {
				t.Errorf("%s, %.0f rpm: lowest safe %.4f V, by trial %.4f V", name, band.FromRPM, band.LowestSafeV.Value, lowest)
			}
			if want := band.HighestSafeV.Value; highest > want*(1+1e-9) || highest < want/step*(1-1e-9) {
				t.Errorf("%s, %.0f rpm: highest safe %.4f V, by trial %.4f V", name, band.FromRPM, want, highest)
			}
		}
	}
}

// A table that was not replayed is told from the heights, within 2 % or two.
func TestWouldIsNearTheReplay(t *testing.T) {
	for _, name := range []string{"ignition-spikes", "low-table", "gap-lobe"} {
		w, s := recorded(t, name)
		r := w.feed(t, optionsOf(t, s), 1<<14)
		c := r.inputs[0].result.Counts
		missed, unwanted, ok := r.Would(r.o.Tables[0])
		if !ok {
			t.Errorf("%s: the table covers all speeds", name)
		}
		for _, x := range [][2]int64{{missed, c.Missed}, {unwanted, c.False}} {
			if d := math.Abs(float64(x[0] - x[1])); d > max(2, 0.03*float64(x[1])) {
				t.Errorf("%s: missed %d, false %d by the heights, %d and %d by the replay", name, missed, unwanted, c.Missed, c.False)
			}
		}
		gap := threshold.NewTable(slices.Clone(r.o.Tables[0].Rows), threshold.Linear)
		gap.Rows[len(gap.Rows)-1].ThresholdV = captures.Maybe{}
		if _, _, ok := r.Would(gap); ok {
			t.Errorf("%s: judged where the table has no threshold", name)
		}
	}
}
