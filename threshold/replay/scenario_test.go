package replay

import (
	"math"
	"sort"
	"testing"

	"armcurve/captures"
	"armcurve/captures/simulate"
	"armcurve/captures/teeth"
	"armcurve/threshold"
)

// tape passes what is measured on to a replay.
type tape struct{ r *Replay }

func (t tape) Wave(first int64, v []float64) { t.r.Wave(first, v) }
func (t tape) Tooth(p teeth.Passage)         { t.r.Tooth(p.Tooth, p.Seen, p.At, p.RestV) }

func tableOf(rows []simulate.Row) threshold.Table {
	var out []threshold.Row
	for _, row := range rows {
		out = append(out, threshold.Row{RPM: row.RPM, ThresholdV: captures.Some(row.ThresholdV)})
	}
	return threshold.NewTable(out, threshold.Linear)
}

// play measures a capture of a scenario and replays it.
func play(t testing.TB, s simulate.Scenario, rig simulate.Rig, table simulate.Table, change func(*Options)) (*Replay, teeth.Measurement) {
	t.Helper()
	source, err := simulate.Open(rig)
	if err != nil {
		t.Fatal(err)
	}
	channel := 0
	for i, sensor := range rig.Sensors {
		if sensor.Name == table.Sensor {
			channel = i
		}
	}
	stated := s.Setup.CrankWheel
	if table.Sensor == captures.Cam {
		stated = s.Setup.CamWheel
	}
	o := Options{Tables: []threshold.Table{tableOf(table.Rows)}, OnCam: rig.Sensors[channel].OnCam, CrankingRPM: s.Setup.CrankingRPM, KeepTeeth: true, KeepWave: len(rig.Sensors) > 1}
	if stated != "" {
		if o.Wheel, err = captures.ParseWheel(stated); err != nil {
			t.Fatal(err)
		}
	}
	if change != nil {
		change(&o)
	}
	r, err := New(source.Info(), o)
	if err != nil {
		t.Fatal(err)
	}
	m, err := teeth.Measure(source, teeth.Options{
		Channel: channel, Sensor: table.Sensor, OnCam: o.OnCam, Wheel: o.Wheel, CrankingRPM: o.CrankingRPM, Watch: tape{r},
	})
	if err != nil {
		t.Fatal(err)
	}
	r.End()
	return r, m
}

// factsOf passes on what measuring told.
func factsOf(m teeth.Measurement) Facts {
	return Facts{
		Signal: m.Signal, SignalWhy: m.SignalWhy, Reversed: m.Polarity == teeth.Reversed, PolarityWhy: m.PolarityWhy,
		WheelDiffers: m.Stated.Known() && m.Wheel.Known() && m.Wheel.TeethPresent() != m.Stated.TeethPresent(), WheelWhy: m.WheelWhy,
	}
}

// examined is the result of a scenario's table on its sensor, with what the
// other sensor showed beside it.
func examined(t testing.TB, s simulate.Scenario, rig simulate.Rig, table simulate.Table) (Result, teeth.Measurement) {
	t.Helper()
	key := s.Name + rig.Name + table.Sensor
	if x, ok := examinedBefore[key]; ok {
		return x.Result, x.Measurement
	}
	r, m := play(t, s, rig, table, nil)
	facts := factsOf(m)
	for _, other := range s.Tables {
		if other.Sensor != table.Sensor && len(rig.Sensors) > 1 {
			beside, _ := play(t, s, rig, other, nil)
			facts.Other, facts.OtherName, facts.OtherWave, facts.Teeth = beside.Crossings(), other.Sensor, beside.Strips(), r.Crossings()
		}
	}
	res, err := r.Result(0, facts)
	if err != nil {
		t.Fatal(err)
	}
	examinedBefore[key] = examination{res, m}
	return res, m
}

// examination is kept for the other tests.
type examination struct {
	Result
	teeth.Measurement
}

var examinedBefore = map[string]examination{}

// truthOf replays a scenario plainly over its true teeth, which no one measured.
// The first fault's speed is that of the turn about it; where the engine runs
// when the capture begins, the turn in which no input can know it is left out.
func truthOf(t testing.TB, s simulate.Scenario, rig simulate.Rig, table simulate.Table) (missed, unwanted int, firstRPM, judgedRPM float64) {
	t.Helper()
	source, err := simulate.Open(rig)
	if err != nil {
		t.Fatal(err)
	}
	w := &recording{info: source.Info()}
	channel := 0
	for i, sensor := range rig.Sensors {
		if sensor.Name == table.Sensor {
			channel = i
		}
	}
	sensor := rig.Sensors[channel]
	source.Watch(func(x simulate.Tooth) {
		if x.Sensor == table.Sensor {
			at := (x.TimeS - w.info.StartS) / w.info.StepS
			w.passed = append(w.passed, teeth.Passage{Tooth: x.Tooth, Seen: !x.Unseen, At: at, RestV: sensor.Recorder.OffsetV})
		}
	})
	var b captures.Block
	for source.Next(&b) == nil {
		w.v = append(w.v, b.V[channel]...)
	}
	for len(w.passed) > 0 && w.passed[len(w.passed)-1].At >= float64(len(w.v)) {
		w.passed = w.passed[:len(w.passed)-1]
	}
	o := Options{Tables: []threshold.Table{tableOf(table.Rows)}, OnCam: sensor.OnCam, CrankingRPM: s.Setup.CrankingRPM, Wheel: sensor.Wheel}
	events := plainReplay(w, o, sensor.Wheel.TeethPresent())
	for _, e := range events {
		if e.False {
			unwanted++
		} else {
			missed++
		}
	}
	firstRPM, judgedRPM = math.NaN(), math.NaN()
	turn := sensor.Wheel.TeethPresent()
	for i, e := range events {
		rpm := turnAbout(w, turn, o.turnsPerWheel(), e.TimeS)
		if i == 0 {
			firstRPM = rpm
		}
		if w.passed[0].RPM < o.crankingTopRPM() || e.TimeS > w.passed[turn].TimeS {
			return missed, unwanted, firstRPM, rpm
		}
	}
	return missed, unwanted, firstRPM, judgedRPM
}

// turnAbout is the speed of the turn about an instant, by the teeth.
func turnAbout(w *recording, turn int, turnsPerWheel, atS float64) float64 {
	k := sort.Search(len(w.passed), func(k int) bool { return w.passed[k].TimeS >= atS })
	from := min(max(k-turn/2, 0), len(w.passed)-1-turn)
	return 60 * turnsPerWheel / (w.passed[from+turn].TimeS - w.passed[from].TimeS)
}

// uncounted are scenarios whose wave is not that of the wheel, or is too coarse
// for anyone to count.
var uncounted = map[string]bool{"reversed": true, "slotted-wheel": true, "square": true, "wrong-wheel": true, "coarse": true}

// On every scenario the first cause is the true one, the first faulty speed is
// right within 5 %, and the counts agree with a plain replay over the true teeth
// within 2 %, or two.
func TestScenarios(t *testing.T) {
	for _, s := range simulate.Scenarios() {
		for _, rig := range s.Captures {
			for _, table := range s.Tables {
				res, m := examined(t, s, rig, table)
				name := s.Name + ", " + rig.Name + ", " + table.Sensor
				if !countedRight(s, m) {
					t.Logf("%s: the wheel was read as %q, so there is nothing to compare", name, m.Wheel)
					continue
				}
				checkCause(t, name, res, map[bool]string{true: s.Cause}[table.Sensor == s.Sensor])
				if !uncounted[s.Name] {
					checkCounts(t, name, res, s, rig, table)
				}
			}
		}
	}
}

// countedRight tells whether the wave's teeth were numbered by the wheel that
// was stated; if not, it is no fault of the replay.
func countedRight(s simulate.Scenario, m teeth.Measurement) bool {
	return s.Cause == WheelDiffers || uncounted[s.Name] || !m.Stated.Known() || m.Wheel.String() == m.Stated.String()
}

func checkCause(t *testing.T, name string, res Result, want string) {
	t.Helper()
	got, share := "", 0.0
	if len(res.Causes) > 0 {
		got, share = res.Causes[0].Kind, res.Causes[0].Share
	}
	t.Logf("%-34s %-8s %-26s %3.0f %%  missed %d, unseen %d, false %d of %d", name, res.Verdict, got, 100*share, res.Missed, res.Unseen, res.False, res.Expected)
	if got != want {
		t.Errorf("%s: first cause %q, want %q", name, got, want)
	}
	if want == "" && res.Verdict != threshold.Clear {
		t.Errorf("%s: %v, want clear", name, res.Verdict)
	}
}

func checkCounts(t *testing.T, name string, res Result, s simulate.Scenario, rig simulate.Rig, table simulate.Table) {
	t.Helper()
	missed, unwanted, firstRPM, judgedRPM := truthOf(t, s, rig, table)
	for _, x := range []struct {
		what string
		got  int64
		want int
	}{{"missed or unseen", res.Missed + res.Unseen, missed}, {"false", res.False, unwanted}} {
		allowed := 0.02
		if s.Cause == Dropout { // where the reader of the wave loses count too
			allowed = 0.2
		}
		if d := math.Abs(float64(x.got) - float64(x.want)); d > max(2, allowed*float64(x.want)) {
			t.Errorf("%s: %d %s, want %d", name, x.got, x.what, x.want)
		}
	}
	if len(res.Causes) > 0 && math.Abs(res.FirstJudgedRPM.Value/judgedRPM-1) > 0.05 {
		t.Errorf("%s: first judged fault at %.0f rpm, want %.0f rpm", name, res.FirstJudgedRPM.Value, judgedRPM)
	}
	if res.FirstFaultRPM.Known && math.Abs(res.FirstFaultRPM.Value/firstRPM-1) > 0.05 {
		t.Errorf("%s: first fault at %.0f rpm, want %.0f rpm", name, res.FirstFaultRPM.Value, firstRPM)
	}
}
