package threshold

import (
	"errors"
	"math"
	"strings"
	"testing"

	"armcurve/captures"
)

// healthy is an R-L coil read with a peak, its weakest tooth and the noise
// beside it from cranking to the top.
func healthy() []captures.Reading {
	readings := []captures.Reading{{NoiseV: captures.Some(0.008)}}
	for _, rpm := range []float64{180, 500, 1000, 2000, 3500, 5000, 6500} {
		peakV := 0.004 * rpm / math.Hypot(1, rpm/5000)
		weakestV := 0.93 * peakV
		if rpm < 300 {
			weakestV = 0.62 * peakV
		}
		readings = append(readings, captures.Reading{
			RPM: rpm, PeakV: captures.Some(peakV), WeakestV: captures.Some(weakestV), NoiseV: captures.Some(0.02 + 2e-5*rpm),
		})
	}
	for i := range readings {
		readings[i].Pos = captures.Pos{File: "engine.csv", Line: i + 2}
	}
	return readings
}

func mustPropose(t *testing.T, readings []captures.Reading, o Options) Result {
	t.Helper()
	r, err := Propose(readings, o)
	if err != nil {
		t.Fatal(err)
	}
	return r
}

func TestHealthySensorIsClear(t *testing.T) {
	o := DefaultOptions()
	o.Wheel = wheel(t, "36-1")
	r := mustPropose(t, healthy(), o)
	if r.Judgement.Verdict != Clear || r.Judgement.ClearFromRPM.Known {
		t.Errorf("verdict %v, clear from %v; worst %+v", r.Judgement.Verdict, r.Judgement.ClearFromRPM, r.Judgement.Worst)
	}
	for _, row := range r.Judgement.Rows {
		if !row.ThresholdV.Known || row.Verdict != Clear {
			t.Errorf("row %v rpm: %v V, %v", row.RPM, row.ThresholdV, row.Verdict)
		}
	}
	for _, f := range r.Findings {
		if f.Severity > captures.Note {
			t.Errorf("%v: %s", f.Severity, f.Text)
		}
	}
}

func TestNoiseOverCrankingFails(t *testing.T) {
	readings := healthy()
	readings[1].NoiseV = captures.Some(readings[1].WeakestV.Value) // × reach passes it
	r := mustPropose(t, readings, DefaultOptions())
	if r.Judgement.Verdict != Fails {
		t.Errorf("verdict %v", r.Judgement.Verdict)
	}
	for _, row := range r.Judgement.Rows {
		if row.ThresholdV.Known != (row.RPM > 200) {
			t.Errorf("%v V at %v rpm", row.ThresholdV, row.RPM)
		}
	}
	if f := r.Findings[0]; f.Kind != NoWindow || f.Severity != captures.Problem {
		t.Errorf("first finding is %s, %v", f.Kind, f.Severity)
	}

	// The same noise where cranking was not measured: a threshold is written,
	// and nothing proven.
	var unmeasured []captures.Reading
	for _, reading := range readings {
		if reading.RPM > 0 && reading.RPM < 600 {
			reading.PeakV, reading.WeakestV = captures.Maybe{}, captures.Maybe{}
		}
		unmeasured = append(unmeasured, reading)
	}
	r = mustPropose(t, unmeasured, DefaultOptions())
	if r.Judgement.Verdict != Unproven || !r.Judgement.ClearFromRPM.Known || !r.Table.Rows[0].ThresholdV.Known {
		t.Errorf("unmeasured: verdict %v, clear from %v, %v V at the start", r.Judgement.Verdict, r.Judgement.ClearFromRPM, r.Table.Rows[0].ThresholdV)
	}
}

func TestThreePeaksAreUnproven(t *testing.T) {
	r := mustPropose(t, peaks(800, 1.9, 2000, 4.6, 4500, 9.1), DefaultOptions())
	if r.Judgement.Verdict != Unproven {
		t.Errorf("verdict %v", r.Judgement.Verdict)
	}
	if f := r.Findings[0]; f.Kind != NoiseUnknown || !strings.Contains(f.Advice, "engine stopped") || !strings.Contains(f.Advice, "next measure a peak while cranking") {
		t.Errorf("first finding is %s: %s", f.Kind, f.Advice)
	}
	// With unknown noise the table stays as high as cranking allows: 1.1 under
	// the weakest tooth there, 2 at speed, less than a step below.
	for _, rpm := range []float64{200, 4500} {
		w := r.Sensor.Window(rpm)
		v := r.Table.At(rpm).Value
		if v > w.WeakestV/w.SignalTarget || v < w.WeakestV/w.SignalTarget*0.9-2*0.01 {
			t.Errorf("%v V at %v rpm, weakest %v V, target %v", v, rpm, w.WeakestV, w.SignalTarget)
		}
	}
}

// Each of the things wrong with readings is its own finding and names the row.
func TestFindingsNameTheRow(t *testing.T) {
	for _, c := range []struct {
		name  string
		spoil func(r []captures.Reading) []captures.Reading
		kind  string
		pos   string
	}{
		{"clipped", func(r []captures.Reading) []captures.Reading { r[6].Clipped = true; return r }, Clipped, "engine.csv:8 "},
		{"an outlier", func(r []captures.Reading) []captures.Reading { r[4].PeakV.Value *= 1.4; return r }, Outlier, "engine.csv:6 "},
		{"× 10", func(r []captures.Reading) []captures.Reading { r[3].PeakV.Value *= 10; return r }, UnitDoubt, "engine.csv:5 "},
		{"÷ 10", func(r []captures.Reading) []captures.Reading { r[3].PeakV.Value /= 10; return r }, UnitDoubt, "engine.csv:5 "},
		{"peak to peak", func(r []captures.Reading) []captures.Reading { r[2].PeakV.Value *= 2; return r }, UnitDoubt, "engine.csv:4 "},
		{"contradictory", func(r []captures.Reading) []captures.Reading {
			again := r[4]
			again.PeakV.Value, again.Pos.Line = 1.5*again.PeakV.Value, 10
			return append(r, again)
		}, Contradictory, "engine.csv:6 and engine.csv:10 "},
		{"all × 10", func(r []captures.Reading) []captures.Reading {
			for i := range r {
				r[i].PeakV, r[i].WeakestV = r[i].PeakV.Times(40), r[i].WeakestV.Times(40)
			}
			return r
		}, UnitDoubt, "engine.csv:3"},
		{"falling", func(r []captures.Reading) []captures.Reading {
			r[6].PeakV.Value *= 0.75
			r[7].PeakV.Value *= 0.5
			return r
		}, FallingAmplitude, "engine.csv:9"},
	} {
		readings := c.spoil(healthy())
		for i := range readings {
			readings[i].WeakestV = captures.Maybe{}
		}
		r := mustPropose(t, readings, DefaultOptions())
		found := false
		for _, f := range r.Findings {
			found = found || f.Kind == c.kind && strings.Contains(f.Text+" ", c.pos)
		}
		if !found {
			t.Errorf("%s: no %s that names %q among %+v", c.name, c.kind, c.pos, r.Findings)
		}
	}
	for _, f := range mustPropose(t, healthy(), DefaultOptions()).Findings {
		switch f.Kind {
		case Clipped, Outlier, UnitDoubt, Contradictory, FallingAmplitude:
			t.Errorf("a healthy sensor: %s", f.Text)
		}
	}
}

// A clipped reading is no part of the curve, but must lie under its upper bound.
func TestClippedReading(t *testing.T) {
	readings := healthy()
	readings[7].Clipped, readings[7].PeakV = true, captures.Some(10.0) // of some 15.9 V
	s := mustSensor(t, readings, DefaultOptions())
	near(t, "curve at the clipped speed", s.Curve.At(6500).V, 0.004*6500/math.Hypot(1, 1.3), 0.03)
	severity := func() captures.Severity {
		for _, f := range s.Findings {
			if f.Kind == Clipped {
				return f.Severity
			}
		}
		return captures.Note
	}
	if severity() != captures.Warning {
		t.Errorf("clipped below the curve is a %v", severity())
	}
	readings[7].PeakV = captures.Some(40.0)
	if s = mustSensor(t, readings, DefaultOptions()); severity() != captures.Problem {
		t.Errorf("clipped above all that is possible is a %v", severity())
	}
}

func TestTooFewSpeeds(t *testing.T) {
	for _, readings := range [][]captures.Reading{
		nil,
		peaks(800, 1.9, 2000, 4.6),
		peaks(2000, 4.5, 2060, 4.6, 2120, 4.7, 2180, 4.9), // within 10 %
		peaks(800, 1.9, 2000, 4.6, 4500, 0),
		append(peaks(800, 1.9, 2000, 4.6), captures.Reading{NoiseV: captures.Some(0.1)}),
	} {
		var few *TooFewError
		if _, err := NewSensor(readings, DefaultOptions()); !errors.As(err, &few) {
			t.Errorf("%d readings give %v", len(readings), err)
		}
	}
	clipped := peaks(800, 1.9, 2000, 4.6, 4500, 9.1)
	clipped[1].Clipped = true
	if _, err := NewSensor(clipped, DefaultOptions()); err == nil || !strings.Contains(err.Error(), "and 1 clipped") {
		t.Errorf("a clipped reading counts as a speed, or is not told of: %v", err)
	}
}

// Readings side by side say what one says: repeating one ten times moves the
// curve no more than a better reading there would.
func TestRepeatedSpeedCountsOnce(t *testing.T) {
	few := peaks(800, 1.9, 2000, 4.6, 4500, 9.1)
	many := few
	for range 10 {
		many = append(many, peaks(2010, 4.62)...)
	}
	a, b := mustSensor(t, few, DefaultOptions()).Curve, mustSensor(t, many, DefaultOptions()).Curve
	if a.Speeds != 3 || b.Speeds != 3 {
		t.Errorf("%d and %d speeds", a.Speeds, b.Speeds)
	}
	for _, rpm := range []float64{300, 800, 4500, 7000} {
		near(t, "curve", b.At(rpm).V, a.At(rpm).V, 0.01)
		near(t, "bound", b.At(rpm).LowV, a.At(rpm).LowV, 0.03)
	}
}

// Below the lowest reading amplitude goes to zero with speed, and beyond both
// ends a row is extrapolated.
func TestHighReadingsOnly(t *testing.T) {
	s := mustSensor(t, peaks(3000, 6.8, 4000, 8.9, 5000, 10.8, 6000, 12.6), DefaultOptions())
	at := s.Curve.At(3000)
	for _, rpm := range []float64{150, 1000, 2999} {
		e := s.Curve.At(rpm)
		near(t, "curve", e.V, at.V*rpm/3000, 1e-9)
		near(t, "bound", e.LowV, at.LowV*rpm/3000, 1e-9)
	}
	if w := s.Window(2000); !w.Extrapolated || w.Measured {
		t.Errorf("2000 rpm: %+v", w)
	}
	if w := s.Window(2500); !w.Extrapolated || !w.Measured {
		t.Errorf("2500 rpm: %+v", w)
	}
}

func TestLimitBelowTheReadings(t *testing.T) {
	o := DefaultOptions()
	o.LimitRPM = captures.Some(3000.0)
	r := mustPropose(t, healthy(), o)
	if last := r.Table.Rows[len(r.Table.Rows)-1].RPM; last != 3000 || r.Judgement.Verdict != Clear {
		t.Errorf("last row at %v rpm, verdict %v", last, r.Judgement.Verdict)
	}
}

// Rows where the controller has them: without 0, one alone, beyond the limit.
func TestGivenRows(t *testing.T) {
	for _, speeds := range [][]float64{{500, 1000, 2000, 4000}, {1000}, {0}, {9000}, {0, 12000}, {200, 3000, 8000, 15000}} {
		o := DefaultOptions()
		o.Axis.AtRPM = speeds
		for _, between := range []BetweenRows{Linear, Step} {
			o.Input.BetweenRows = between
			r := mustPropose(t, healthy(), o)
			if len(r.Table.Rows) != len(speeds) {
				t.Fatalf("%d rows for %v", len(r.Table.Rows), speeds)
			}
			// What holds for the lowest row holds below it too.
			if v := r.Table.At(150); !v.Known || v.Value <= 0 || v.Value >= r.Sensor.WeakestV(150) {
				t.Errorf("%v, %v: %v V at 150 rpm, weakest %v V", speeds, between, v, r.Sensor.WeakestV(150))
			}
		}
	}
	o := DefaultOptions()
	o.Axis.AtRPM = []float64{}
	var option *OptionError
	if _, err := Propose(healthy(), o); !errors.As(err, &option) {
		t.Errorf("no rows: %v", err)
	}
}

// A window closed in the middle leaves its rows without a threshold, and those
// at both sides with theirs.
func TestClosedInTheMiddle(t *testing.T) {
	readings := healthy()
	readings[4].NoiseV = captures.Some(9.0) // at 2000 rpm
	r := mustPropose(t, readings, DefaultOptions())
	var without []float64
	for _, row := range r.Table.Rows {
		if !row.ThresholdV.Known {
			without = append(without, row.RPM)
		}
	}
	first, last := r.Table.Rows[0], r.Table.Rows[len(r.Table.Rows)-1]
	if len(without) == 0 || !first.ThresholdV.Known || !last.ThresholdV.Known || r.Judgement.Verdict != Fails {
		t.Errorf("no threshold at %v, verdict %v", without, r.Judgement.Verdict)
	}
}

// Volts of any size: thresholds follow, as far as the step allows.
func TestSizes(t *testing.T) {
	for _, k := range []float64{1e-4, 1, 50} {
		readings := healthy()
		for i := range readings {
			r := &readings[i]
			r.PeakV, r.WeakestV, r.NoiseV = r.PeakV.Times(k), r.WeakestV.Times(k), r.NoiseV.Times(k)
		}
		o := DefaultOptions()
		o.Input.StepV *= k
		if r := mustPropose(t, readings, o); r.Judgement.Verdict != Clear {
			t.Errorf("× %v: %v", k, r.Judgement.Verdict)
		}
	}
	// A step wider than the window.
	o := DefaultOptions()
	o.Input.StepV = 10
	if r := mustPropose(t, healthy(), o); r.Judgement.Verdict != Fails || r.Table.Rows[0].ThresholdV != captures.Some(10) {
		t.Errorf("a step of 10 V: %v, %v", r.Judgement.Verdict, r.Table.Rows)
	}
}

// Two sets of readings that contradict each other are one finding, with the
// range of speeds, and no fall from one of them to the other.
func TestContradictingSets(t *testing.T) {
	readings := healthy()
	for i, r := range healthy()[1:] {
		r.PeakV, r.WeakestV = r.PeakV.Times(0.7), r.WeakestV.Times(0.7)
		r.Pos = captures.Pos{File: "other.csv", Line: i + 2}
		readings = append(readings, r)
	}
	found := 0
	for _, f := range mustPropose(t, readings, DefaultOptions()).Findings {
		switch f.Kind {
		case Contradictory:
			found++
			if f.FromRPM.Value != 180 || f.ToRPM.Value != 6500 || !strings.Contains(f.Text, "7 times from 180 to 6500 rpm") {
				t.Errorf("%v to %v rpm: %s", f.FromRPM, f.ToRPM, f.Text)
			}
		case FallingAmplitude:
			t.Errorf("a fall: %s", f.Text)
		}
	}
	if found != 1 {
		t.Errorf("%d findings", found)
	}
}

// A slip of a factor of two is spoken of only where the reading lies that far
// off, within the scatter of readings.
func TestSlipIsWithinScatter(t *testing.T) {
	for ratio, want := range map[float64]bool{0.5: true, 0.52: true, 0.55: false, 0.45: false, 2: true, 1.93: true, 1.8: false, 10: true, 9.3: true, 8: false, 0.001: true} {
		if what, is := unitSlip(ratio, 0.03); is != want {
			t.Errorf("%v times the curve: a slip is %v: %s", ratio, is, what)
		}
	}
}

// What to measure next stands with the noise that was not measured, and only
// there.
func TestNextIsSaidOnce(t *testing.T) {
	r := mustPropose(t, peaks(180, 0.7, 800, 2.9, 2000, 6.9, 4500, 13), DefaultOptions())
	if f := r.Findings[0]; f.Kind != NoiseUnknown || !strings.Contains(f.Advice, "; next measure a peak near 600 rpm") {
		t.Errorf("the first finding, %s, says %s", f.Kind, f.Advice)
	}
	for _, f := range r.Findings[1:] {
		if f.Kind == MeasureNext {
			t.Errorf("said again: %s", f.Text)
		}
	}
}
