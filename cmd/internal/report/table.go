package report

import (
	"fmt"
	"strconv"
	"strings"

	"armcurve/captures"
	"armcurve/threshold"
)

// Context is what a document says beside the result.
type Context struct {
	Setup    string
	Assumed  []string           // what stood in for a measurement
	Defaults []string           // the other defaults in use
	ReadAs   []string           // how each file was read
	Findings []captures.Finding // of the files
	Missing  []Missing          // sensors without a result
	// Command is what was typed, without where its output went; SetupText the
	// text of the setup file.
	Command, SetupText string
	Waves              []MeasuredCapture // the captures among what was read
}

// Missing is a sensor of which nothing can be said, and why.
type Missing struct {
	Sensor   string
	Finding  captures.Finding
	Readings []captures.Reading
}

// TooFew says that a sensor has too few readings for a curve.
func TooFew(err *threshold.TooFewError, readings []captures.Reading) Missing {
	return Missing{err.Sensor, captures.Finding{
		Kind: threshold.FewReadings, Severity: captures.Problem, Text: err.Error(),
		Advice: FewAdvice,
	}, readings}
}

// FewAdvice says what to do about too few readings.
const FewAdvice = "measure the peak at three speeds or more, the lowest while cranking, each well apart from the next"

// caution stands under every table.
const caution = "A starting point computed from what was measured, not verified on the engine. " +
	"After any change of threshold or polarity check the base timing before load; " +
	"follow the makers' documents, local rules and a licensed practitioner where they apply."

func (c Context) document(sentences []string) Document {
	d := Document{Setup: c.Setup, Assumed: c.Assumed, Defaults: c.Defaults, ReadAs: c.ReadAs, Command: c.Command, SetupText: c.SetupText}
	if len(sentences) > 0 {
		d.Caution = caution
	}
	for _, m := range c.Missing {
		sentences = append(sentences, "nothing can be said of the "+m.Sensor+" sensor")
		d.Findings = append(d.Findings, m.Finding)
		if len(m.Readings) > 0 {
			d.Inputs = append(d.Inputs, func() Table { return inputTable("readings of the "+m.Sensor+" sensor", m.Readings) })
		}
	}
	d.Findings = append(d.Findings, c.Findings...)
	d.Sentence = capital(strings.Join(sentences, "; ")) + "."
	return d
}

func capital(text string) string {
	if text == "" {
		return text
	}
	return strings.ToUpper(text[:1]) + text[1:]
}

// Judged is the document of proposed or checked tables, one result a sensor.
func Judged(results []threshold.Result, c Context) Document {
	var sentences []string
	for _, r := range results {
		sentences = append(sentences, tableSentence(r))
	}
	d := c.document(sentences)
	for _, r := range results {
		section := Section{Findings: r.Findings, Notes: []string{"amplitude: " + curveNote(r.Sensor)}}
		for _, note := range []string{choiceNote(r), worstNote(r)} {
			if note != "" {
				section.Notes = append(section.Notes, note)
			}
		}
		if len(results) > 1 {
			section.Title = r.Sensor.Name
		}
		section.Tables = []Table{judgedTable(r, len(results) > 1)}
		if r.Repair != nil {
			section.Tables[0].Data = false
			section.Tables = append(section.Tables, repairTable(r, len(results) > 1))
		}
		section.ToType, section.Charts = tableToType(r), func() []Chart { return judgedCharts(r) }
		d.Sections = append(d.Sections, section)
		d.Inputs = append(d.Inputs, usedTable(r.Sensor, ""))
	}
	d.First = firstOfJudged(d, results)
	d.Sections = append(d.Sections, waveSections(c.Waves)...)
	return d
}

// judgedTable is the table with its margins.
func judgedTable(r threshold.Result, severalSensors bool) Table {
	t := Table{Data: true, Columns: []Column{
		{Head: "rpm", Key: "rpm"},
		{Head: "threshold V", Key: "threshold_v"},
		{Head: "weakest V", Key: "weakest_v"},
		{Head: "noise V", Key: "noise_v"},
		{Head: "signal ×", Key: "signal_margin"},
		{Head: "noise ×", Key: "noise_margin"},
		{Head: "verdict", Key: "verdict", Left: true},
		{Head: "peak V", Key: "peak_v", Wide: true},
		{Head: "noise from", Key: "noise_part", Wide: true, Left: true},
		{Head: "worst at rpm", Key: "worst_rpm", Wide: true},
		{Head: "extrapolated", Key: "extrapolated", Wide: true, Left: true},
		{Head: "false/h", Key: "false_per_hour", Wide: true},
		{Head: "missed/10⁶", Key: "missed_per_million", Wide: true},
	}}
	suggested := r.Suggested != nil && r.Judgement.Verdict > threshold.Unproven
	if suggested {
		t.Columns = append(t.Columns, Column{Head: "better V", Key: "suggested_v"})
	}
	if severalSensors {
		t.Columns = append(t.Columns, Column{Head: "sensor", Key: "sensor", Wide: true, Left: true})
	}
	for i, row := range r.Judgement.Rows {
		cells := judgedRow(r, row)
		if suggested {
			cells = append(cells, thresholdCell(r.Suggested.Rows[i].ThresholdV, r.Sensor.Options.Input.StepV))
		}
		if severalSensors {
			cells = append(cells, word(r.Sensor.Name))
		}
		t.Rows = append(t.Rows, cells)
	}
	return t
}

func judgedRow(r threshold.Result, row threshold.JudgedRow) []Cell {
	w := row.Window
	part := w.NoisePart
	if part == "" {
		part = unknown
	}
	return []Cell{
		rpmCell(row.RPM),
		thresholdCell(row.ThresholdV, r.Sensor.Options.Input.StepV),
		voltCell(captures.Some(w.WeakestV)),
		voltCell(w.NoiseV),
		marginCell(row.SignalMargin),
		marginCell(row.NoiseMargin),
		word(row.Verdict.String()),
		voltCell(captures.Some(w.PeakV)),
		{part, w.NoisePart},
		rpmCell(row.WorstRPM),
		yesNo(w.Extrapolated),
		rateCell(row.FalsePerHour),
		rateCell(row.MissedPerMillion),
	}
}

func yesNo(is bool) Cell {
	if is {
		return Cell{"yes", "true"}
	}
	return Cell{"no", "false"}
}

func rateCell(m captures.Maybe) Cell {
	if !m.Known {
		return Cell{Text: unknown}
	}
	return Cell{rateText(m.Value), exactly(m.Value)}
}

// rateText gives the order of a rate: no more is known of it.
func rateText(rate float64) string {
	switch {
	case rate < 0.001:
		return "< 0.001"
	case rate < 9.5: // what is more rounds to two digits
		return strconv.FormatFloat(rate, 'g', 1, 64)
	case rate < 1e6:
		return strconv.FormatFloat(rate, 'f', 0, 64)
	}
	return "over 10⁶"
}

// curveNote says what the amplitude curve is.
func curveNote(s *threshold.Sensor) string {
	c := s.Curve
	text := fmt.Sprintf("%s through %d speeds from %s to %s rpm", c.Model, c.Speeds, rpmText(c.LowRPM), rpmText(c.HighRPM))
	if corner, ok := c.CornerRPM(); ok && corner < 10*c.HighRPM {
		text += fmt.Sprintf(", 3 dB lost at %s rpm", rpmText(corner))
	}
	return text + fmt.Sprintf("; scatter %.1f %%", 100*c.Scatter)
}
