package report

import (
	"fmt"

	"armcurve/captures"
	"armcurve/threshold"
)

// Compared is the document of one or more comparisons, one a sensor.
func Compared(comparisons []threshold.Comparison, c Context) Document {
	var sentences []string
	for _, x := range comparisons {
		sentences = append(sentences, comparisonSentence(x))
	}
	d := c.document(sentences)
	for _, x := range comparisons {
		several := len(comparisons) > 1
		section := Section{Findings: x.Findings, Tables: []Table{ratioTable(x, several)}}
		if several {
			section.Title = x.After.Name
		}
		if x.Check != nil {
			section.Tables[0].Data = false
			section.Tables = append(section.Tables, swapTable(x, several))
		}
		section.Notes = []string{"before: " + curveNote(x.Before), "after: " + curveNote(x.After)}
		section.ToType, section.Charts = tableAfter(x), func() []Chart { return comparedCharts(x) }
		d.Sections = append(d.Sections, section)
		d.Inputs = append(d.Inputs, usedTable(x.Before, " before"), usedTable(x.After, " after"))
	}
	d.First = firstOfCompared(d, comparisons)
	d.Sections = append(d.Sections, waveSections(c.Waves)...)
	return d
}

func comparisonSentence(x threshold.Comparison) string {
	text := fmt.Sprintf("the %s signal after is %s × before (%s to %s)", x.After.Name, ratioText(x.Overall.Value), ratioText(x.Overall.Low), ratioText(x.Overall.High))
	if x.FallsWithSpeed {
		text += ", falling with speed"
	}
	if x.RisesWithSpeed {
		text += ", rising with speed"
	}
	if x.Check != nil {
		text += "; with the old thresholds " + tableSentence(*x.Check)
	}
	return text
}

func ratioTable(x threshold.Comparison, severalSensors bool) Table {
	t := Table{Title: "amplitude after ÷ before", Data: true, Columns: []Column{
		{Head: "rpm", Key: "rpm"}, {Head: "ratio", Key: "ratio"}, {Head: "at least", Key: "low"}, {Head: "at most", Key: "high"},
		{Head: "before V", Key: "before_v"}, {Head: "after V", Key: "after_v"},
	}}
	if severalSensors {
		t.Columns = append(t.Columns, Column{Head: "sensor", Key: "sensor", Left: true})
	}
	for _, s := range x.Samples {
		row := []Cell{rpmCell(s.RPM), ratioCell(s.Value), ratioCell(s.Low), ratioCell(s.High),
			voltCell(captures.Some(x.Before.Curve.At(s.RPM).V)), voltCell(captures.Some(x.After.Curve.At(s.RPM).V))}
		if severalSensors {
			row = append(row, word(x.After.Name))
		}
		t.Rows = append(t.Rows, row)
	}
	return t
}

func ratioCell(v float64) Cell { return Cell{fmt.Sprintf("%.3f", v), exactly(v)} }

// swapTable shows the old table on the new sensor beside a rescaled one. As CSV
// it is the rescaled table, which check and investigate read.
func swapTable(x threshold.Comparison, severalSensors bool) Table {
	stepV := x.After.Options.Input.StepV
	t := Table{Data: true, Title: "the old table now, and rescaled", Columns: []Column{
		{Head: "rpm", Key: "rpm"}, {Head: "old V", Key: "old_v"}, {Head: "signal ×", Key: "old_signal_margin"}, {Head: "noise ×", Key: "old_noise_margin"},
		{Head: "verdict", Key: "old_verdict", Left: true}, {Head: "scaled V", Key: "threshold_v", Aside: true}, {Head: "signal ×", Key: "signal_margin"},
		{Head: "noise ×", Key: "noise_margin"}, {Head: "verdict", Key: "verdict", Left: true},
	}}
	if severalSensors {
		t.Columns = append(t.Columns, Column{Head: "sensor", Key: "sensor", Wide: true, Left: true})
	}
	for i, old := range x.Check.Judgement.Rows {
		scaled := x.Rescaled.Judgement.Rows[i]
		row := []Cell{
			rpmCell(old.RPM), thresholdCell(old.ThresholdV, stepV), marginCell(old.SignalMargin), marginCell(old.NoiseMargin), word(old.Verdict.String()),
			thresholdCell(scaled.ThresholdV, stepV), marginCell(scaled.SignalMargin), marginCell(scaled.NoiseMargin), word(scaled.Verdict.String()),
		}
		if severalSensors {
			row = append(row, word(x.After.Name))
		}
		t.Rows = append(t.Rows, row)
	}
	return t
}

// ComparedSensorJSON is what changed of one sensor.
type ComparedSensorJSON struct {
	Sensor       string          `json:"sensor"`
	Ratio        RatioJSON       `json:"ratio"`
	GapChangeMM  *captures.Maybe `json:"gap_change_mm,omitempty"`
	Before       CurveJSON       `json:"before"`
	After        CurveJSON       `json:"after"`
	Check        *SensorJSON     `json:"check"`
	RescaledRows []RowJSON       `json:"rescaled_rows"`
	Findings     []FindingJSON   `json:"findings"`
}

// RatioJSON is amplitude after ÷ before.
type RatioJSON struct {
	Overall        float64           `json:"overall"`
	Low            float64           `json:"low"`
	High           float64           `json:"high"`
	FallsWithSpeed bool              `json:"falls_with_speed"`
	RisesWithSpeed bool              `json:"rises_with_speed"`
	Samples        []RatioSampleJSON `json:"samples"`
}

// RatioSampleJSON is the ratio at one speed.
type RatioSampleJSON struct {
	RPM   float64 `json:"rpm"`
	Ratio float64 `json:"ratio"`
	Low   float64 `json:"low"`
	High  float64 `json:"high"`
}

// ComparedJSON is the JSON of comparisons. Without a table there is no
// verdict: null would say that one is missing, so it is "compared".
func ComparedJSON(comparisons []threshold.Comparison, sameSensor bool, c Context) Envelope {
	verdict := "compared"
	worst := threshold.Clear
	for _, x := range comparisons {
		if x.Check != nil {
			worst = max(worst, x.Check.Judgement.Verdict)
			verdict = worst.String()
		}
	}
	if len(c.Missing) > 0 {
		verdict = max(worst, threshold.Unproven).String()
	}
	e := c.envelope("compare", verdict)
	for _, x := range comparisons {
		e.Sensors = append(e.Sensors, comparedSensorJSON(x, sameSensor))
	}
	return e
}

func comparedSensorJSON(x threshold.Comparison, sameSensor bool) ComparedSensorJSON {
	out := ComparedSensorJSON{
		Sensor: x.After.Name,
		Ratio:  RatioJSON{x.Overall.Value, x.Overall.Low, x.Overall.High, x.FallsWithSpeed, x.RisesWithSpeed, nil},
		Before: curveJSON(x.Before), After: curveJSON(x.After), RescaledRows: []RowJSON{}, Findings: findingsJSON(x.Findings),
	}
	if sameSensor {
		out.GapChangeMM = &x.GapChangeMM
	}
	for _, s := range x.Samples {
		out.Ratio.Samples = append(out.Ratio.Samples, RatioSampleJSON{s.RPM, s.Value, s.Low, s.High})
	}
	if x.Check != nil {
		check := sensorJSON(*x.Check)
		out.Check = &check
		for i, row := range x.Rescaled.Judgement.Rows {
			out.RescaledRows = append(out.RescaledRows, rowJSON(*x.Rescaled, i, row))
		}
	}
	return out
}
