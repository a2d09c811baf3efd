package report

import (
	"math"
	"slices"
	"strconv"
	"strings"
	"testing"

	"armcurve/captures"
	"armcurve/captures/simulate"
	"armcurve/captures/teeth"
	"armcurve/threshold"
	"armcurve/threshold/replay"
)

// crew is those that follow a wave in these tests.
type crew struct {
	*Recording
	r *replay.Replay
}

func (c crew) Wave(first int64, v []float64) {
	c.Recording.Wave(first, v)
	c.r.Wave(first, v)
}

func (c crew) Tooth(p teeth.Passage) {
	c.Recording.Tooth(p)
	c.r.Tooth(p.Tooth, p.Seen, p.At, p.RestV)
}

// played is a scenario measured and played.
func played(t *testing.T, name string) (MeasuredCapture, InvestigatedCapture) {
	t.Helper()
	s, err := simulate.FindScenario(name)
	if err != nil {
		t.Fatal(err)
	}
	source, err := simulate.Open(s.Captures[0])
	if err != nil {
		t.Fatal(err)
	}
	wheel, err := captures.ParseWheel(s.Setup.CrankWheel)
	if err != nil {
		t.Fatal(err)
	}
	var rows []threshold.Row
	for _, row := range s.Tables[0].Rows {
		rows = append(rows, threshold.Row{RPM: row.RPM, ThresholdV: captures.Some(row.ThresholdV)})
	}
	recording, playback := NewRecording(source.Info()), NewPlayback(source.Info())
	r, err := replay.New(source.Info(), replay.Options{
		Tables: []threshold.Table{threshold.NewTable(rows, threshold.Linear)}, Wheel: wheel, CrankingRPM: s.Setup.CrankingRPM, KeepEvents: true, View: playback,
	})
	if err != nil {
		t.Fatal(err)
	}
	m, err := teeth.Measure(recording.Of(source, false), teeth.Options{
		Sensor: captures.Crank, Wheel: wheel, CrankingRPM: s.Setup.CrankingRPM, KeepTeeth: true, Watch: crew{recording, r},
	})
	if err != nil {
		t.Fatal(err)
	}
	r.End()
	res, err := r.Result(0, replay.Facts{Signal: m.Signal, SignalWhy: m.SignalWhy, Reversed: m.Polarity == teeth.Reversed, PolarityWhy: m.PolarityWhy, Wheel: m.Wheel})
	if err != nil {
		t.Fatal(err)
	}
	return MeasuredCapture{Name: "pull.csv", Measurement: m, Recording: recording},
		InvestigatedCapture{Name: "pull.csv", Measurement: m, Result: res, Recording: recording, Playback: playback}
}

// exactRows are the rows of a table of a page, to the last digit, by the keys of its
// columns.
func exactRows(t Table) []map[string]string {
	var list []map[string]string
	for _, row := range t.Rows {
		line := map[string]string{}
		for i, c := range t.Columns {
			line[c.Key] = row[i].Exact
		}
		list = append(list, line)
	}
	return list
}

func chartNamed(t *testing.T, d Document, name string) Chart {
	t.Helper()
	for _, s := range d.Sections {
		if s.Charts == nil {
			continue
		}
		for _, c := range s.Charts() {
			if c.Name == name {
				return c
			}
		}
	}
	t.Fatalf("no picture %s", name)
	return Chart{}
}

// What the pages of captures show is what their JSON has.
func TestCapturePagesAgreeWithJSON(t *testing.T) {
	m, i := played(t, "ignition-spikes")
	measured, tree := Measured([]MeasuredCapture{m}, Context{}), decoded(t, MeasureJSON([]MeasuredCapture{m}, Context{}))
	agree := func(what, key, cell string, value any) {
		t.Helper()
		if !same(cell, value) {
			t.Errorf("%s: %s is %q on the page, %v in the JSON", what, key, cell, value)
		}
	}
	for k, row := range exactRows(measured.Sections[0].Tables[0]) {
		for _, key := range []string{"rpm", "peak_v", "weakest_v", "noise_v", "noise_rms_v", "spike_v", "hump_v", "teeth_measured", "ripple"} {
			if cell, found := row[key]; found {
				agree("readings", key, cell, at(t, tree, "readings", k, key))
			}
		}
	}
	heights := exactRows(chartNamed(t, measured, "teeth").Numbers[0])
	if len(heights) != 35 {
		t.Errorf("%d teeth, want 35", len(heights))
	}
	for k, row := range heights {
		agree("teeth", "tooth", row["tooth"], at(t, tree, "captures", 0, "tooth_heights", k, "tooth"))
		agree("teeth", "of_mean", row["of_mean"], at(t, tree, "captures", 0, "tooth_heights", k, "of_mean"))
	}
	speeds := map[string]string{}
	for k := range m.Measurement.ToothList {
		tooth := at(t, tree, "captures", 0, "tooth_list", k).(map[string]any)
		speeds[brief(tooth["t_s"].(float64), 6).Exact] += exactOf(tooth["rpm"]) + " "
	}
	for _, row := range exactRows(chartNamed(t, measured, "speed").Numbers[0]) {
		if !strings.Contains(speeds[row["t_s"]], row["rpm"]+" ") {
			t.Errorf("at %s s the page has %s rpm, the JSON %s", row["t_s"], row["rpm"], speeds[row["t_s"]])
		}
	}

	investigated, tree := Investigated([]InvestigatedCapture{i}, Context{}), decoded(t, InvestigateJSON([]InvestigatedCapture{i}, Context{}))
	for k, row := range exactRows(investigated.Sections[1].Tables[0]) {
		for key, cell := range row {
			if key != "file" && key != "sensor" {
				agree("by speed", key, cell, at(t, tree, "captures", 0, "by_speed", k, key))
			}
		}
	}
	places := exactRows(chartNamed(t, investigated, "angle").Numbers[0])
	events := at(t, tree, "captures", 0, "events").([]any)
	if len(places) != len(events) || len(places) == 0 {
		t.Fatalf("%d angles, %d events", len(places), len(events))
	}
	for k, row := range places {
		agree("angle", "rpm", row["rpm"], at(t, events, k, "rpm"))
		agree("angle", "crank_deg", row["crank_deg"], number(t, brief(at(t, events, k, "crank_deg").(float64), 4).Exact))
	}
}

// The wave around the first fault of a cause shows that fault, as the events of
// the JSON have it.
func TestPicturesOfFaults(t *testing.T) {
	for _, c := range []struct {
		scenario string
		isFalse  bool
	}{{"ignition-spikes", true}, {"short-tooth", false}, {"roll-off", false}, {"too-noisy", true}} {
		_, i := played(t, c.scenario)
		d := Investigated([]InvestigatedCapture{i}, Context{})
		x := i.Playback.examples[i.Result.Causes[0].Example]
		marked := x.Missed
		if c.isFalse {
			marked = x.Excerpt.False
		}
		if !slices.ContainsFunc(marked, func(p Point) bool { return math.Abs(p.X-x.TimeS) < 1.2e-3*6000/x.RPM }) {
			t.Errorf("%s: nothing is marked at %v s among %v", c.scenario, x.TimeS, marked)
		}
		for _, p := range x.Counted {
			if math.Abs(p.Y) > 1e-4 {
				t.Errorf("%s: counted at %v V, not at the fall through the rest level", c.scenario, p.Y)
			}
		}
		caption := chartNamed(t, d, "cause1").Caption
		for _, wanted := range []string{secondsText(x.TimeS) + " s", rpmText(x.RPM) + " rpm", voltText(x.SignalV) + " V", voltText(x.ThresholdV.Value) + " V"} {
			if !strings.Contains(caption, wanted) {
				t.Errorf("%s: %q without %q", c.scenario, caption, wanted)
			}
		}
		found := slices.ContainsFunc(i.Result.Events, func(e replay.Event) bool { return e.TimeS == x.TimeS && e.SignalV == x.SignalV && e.Tooth == x.Tooth })
		if !found {
			t.Errorf("%s: %+v is none of the events", c.scenario, x.Event)
		}
		for _, name := range []string{"worst", "record", "speed", "teeth"} {
			wellFormed(t, chartNamed(t, d, name))
		}
	}
}

// The weakest tooth is the true one, and the record hides nothing.
func TestPicturesOfAWave(t *testing.T) {
	m, _ := played(t, "short-tooth")
	d := Measured([]MeasuredCapture{m}, Context{})
	if caption := chartNamed(t, d, "weakest").Caption; !strings.Contains(caption, "tooth 14 rises to") {
		t.Errorf("%q", caption)
	}
	if caption := chartNamed(t, d, "teeth").Caption; !strings.HasPrefix(caption, "Tooth 14 is the weakest, at 3") {
		t.Errorf("%q", caption)
	}
	rows := exactRows(chartNamed(t, d, "record").Numbers[0])
	if n := len(rows); n > mostColumns || n < mostColumns/2 {
		t.Errorf("%d columns", n)
	}
	m, _ = played(t, "dropout")
	if caption := chartNamed(t, Measured([]MeasuredCapture{m}, Context{}), "lost").Caption; !strings.Contains(caption, "the wave does not: the first of "+strconv.FormatInt(m.Measurement.Unseen, 10)) {
		t.Errorf("%q", caption)
	}
	// Where nothing is to be counted, the wave itself is shown.
	m, i := played(t, "reversed")
	for _, d := range []Document{Measured([]MeasuredCapture{m}, Context{}), Investigated([]InvestigatedCapture{i}, Context{})} {
		c := chartNamed(t, d, "wave")
		if !strings.Contains(c.Caption, "wires are reversed") || len(c.Lines[0].Points) < 100 {
			t.Errorf("%q, %d points", c.Caption, len(c.Lines[0].Points))
		}
		if strings.Contains(pageOf(t, d), `part1-2-speed`) {
			t.Error("a speed is shown that is not known")
		}
	}
}

// A page of many captures has pictures of the first few, and of those with
// faults rather than of others.
func TestFewArePictured(t *testing.T) {
	m, i := played(t, "short-tooth")
	sound := i
	sound.Result.Verdict = threshold.Clear
	var measured []MeasuredCapture
	investigated := slices.Repeat([]InvestigatedCapture{sound}, 9)
	for range 10 {
		measured = append(measured, m)
	}
	investigated = append(investigated, i)
	for _, d := range []Document{Measured(measured, Context{}), Investigated(investigated, Context{})} {
		page := pageOf(t, d)
		if n := strings.Count(page, "-record\">"); n != mostPictured || len(page) > 2<<20 {
			t.Errorf("%d pictured on %d bytes", n, len(page))
		}
	}
	if chosen := pictured(investigated); !chosen[9] || chosen[8] || chosen[7] {
		t.Errorf("chosen: %v", chosen)
	}
}
