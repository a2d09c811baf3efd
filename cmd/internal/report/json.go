package report

import (
	"encoding/json"
	"io"
	"math"
	"slices"
	"strings"

	"armcurve/captures"
	"armcurve/threshold"
)

// Schema is the number of the JSON's layout. Keys may be added under the same
// number; none changes its meaning.
const Schema = 1

// JSON writes a value as indented JSON.
func JSON(w io.Writer, v any) error {
	encoder := json.NewEncoder(w)
	encoder.SetEscapeHTML(false)
	encoder.SetIndent("", "  ")
	return encoder.Encode(v)
}

// Envelope is what every command's JSON starts with.
type Envelope struct {
	Schema      int           `json:"schema"`
	Command     string        `json:"command"`
	Verdict     string        `json:"verdict"`
	Sensors     []any         `json:"sensors"`
	Findings    []FindingJSON `json:"findings"`
	Assumptions []string      `json:"assumptions"`
	ReadAs      []string      `json:"read_as"`
}

func (c Context) envelope(command, verdict string) Envelope {
	e := Envelope{
		Schema: Schema, Command: command, Verdict: verdict, Sensors: []any{},
		Findings: findingsJSON(c.Findings), Assumptions: list(slices.Concat(c.Assumed, c.Defaults)), ReadAs: list(c.ReadAs),
	}
	for _, m := range c.Missing {
		e.Findings = append(e.Findings, findingsJSON([]captures.Finding{m.Finding})...)
	}
	return e
}

// list is never null in JSON.
func list(lines []string) []string {
	if lines == nil {
		return []string{}
	}
	return lines
}

// FindingJSON is a finding.
type FindingJSON struct {
	Kind     string         `json:"kind"`
	Severity string         `json:"severity"`
	FromRPM  captures.Maybe `json:"from_rpm"`
	ToRPM    captures.Maybe `json:"to_rpm"`
	Text     string         `json:"text"`
	Advice   string         `json:"advice"`
}

func findingsJSON(findings []captures.Finding) []FindingJSON {
	out := []FindingJSON{}
	for _, f := range findings {
		out = append(out, FindingJSON{f.Kind, f.Severity.String(), f.FromRPM, f.ToRPM, f.Text, f.Advice})
	}
	return out
}

// SensorJSON is the table of one sensor, proposed or checked.
type SensorJSON struct {
	Sensor   string         `json:"sensor"`
	Verdict  string         `json:"verdict"`
	Curve    CurveJSON      `json:"curve"`
	Rows     []RowJSON      `json:"rows"`
	Margins  []MarginJSON   `json:"margins"`
	Worst    WorstJSON      `json:"worst"`
	Choice   *ChoiceJSON    `json:"rows_chosen"`
	Repair   *RepairJSON    `json:"repair"`
	Next     *NextJSON      `json:"measure_next"`
	ClearRPM captures.Maybe `json:"clear_from_rpm"`
	Findings []FindingJSON  `json:"findings"`
}

// CurveJSON is the amplitude curve.
type CurveJSON struct {
	Model       string             `json:"model"`
	Parameters  map[string]float64 `json:"parameters"`
	CornerRPM   captures.Maybe     `json:"corner_rpm"`
	LagCrankDeg captures.Maybe     `json:"lag_crank_deg"`
	MeasuredRPM [2]float64         `json:"measured_rpm"`
	Scatter     float64            `json:"scatter"`
	Samples     []SampleJSON       `json:"samples"`
}

// SampleJSON is the curve at one speed.
type SampleJSON struct {
	RPM          float64        `json:"rpm"`
	PeakV        float64        `json:"peak_v"`
	LowV         float64        `json:"low_v"`
	HighV        float64        `json:"high_v"`
	WeakestV     float64        `json:"weakest_v"`
	NoiseV       captures.Maybe `json:"noise_v"`
	Extrapolated bool           `json:"extrapolated"`
	// NoiseParts has the parts of the noise ceiling by their names; nil where
	// the noise is not known.
	NoiseParts map[string]float64 `json:"noise_parts"`
}

// MarginJSON is the table at one speed, its rows or between them.
type MarginJSON struct {
	RPM          float64        `json:"rpm"`
	ThresholdV   captures.Maybe `json:"threshold_v"`
	WeakestV     float64        `json:"weakest_v"`
	NoiseV       captures.Maybe `json:"noise_v"`
	SignalMargin captures.Maybe `json:"signal_margin"`
	SignalTarget float64        `json:"signal_target"`
	NoiseMargin  captures.Maybe `json:"noise_margin"`
	NoiseTarget  float64        `json:"noise_target"`
}

// RowJSON is one row of a table.
type RowJSON struct {
	RPM              float64        `json:"rpm"`
	ThresholdV       captures.Maybe `json:"threshold_v"`
	SuggestedV       captures.Maybe `json:"suggested_v"`
	PeakV            float64        `json:"peak_v"`
	WeakestV         float64        `json:"weakest_v"`
	NoiseV           captures.Maybe `json:"noise_v"`
	NoisePart        *string        `json:"noise_part"`
	SignalMargin     captures.Maybe `json:"signal_margin"`
	NoiseMargin      captures.Maybe `json:"noise_margin"`
	SignalMarginDB   captures.Maybe `json:"signal_margin_db"`
	NoiseMarginDB    captures.Maybe `json:"noise_margin_db"`
	Verdict          string         `json:"verdict"`
	WorstRPM         float64        `json:"worst_rpm"`
	Extrapolated     bool           `json:"extrapolated"`
	FalsePerHour     captures.Maybe `json:"false_per_hour"`
	MissedPerMillion captures.Maybe `json:"missed_per_million"`
}

// JudgedJSON is the JSON of proposed or checked tables.
func JudgedJSON(command string, results []threshold.Result, c Context) Envelope {
	worst := threshold.Clear
	for _, r := range results {
		worst = max(worst, r.Judgement.Verdict)
	}
	if len(c.Missing) > 0 {
		worst = max(worst, threshold.Unproven)
	}
	e := c.envelope(command, worst.String())
	for _, r := range results {
		e.Sensors = append(e.Sensors, sensorJSON(r))
	}
	return e
}

func sensorJSON(r threshold.Result) SensorJSON {
	j := r.Judgement
	out := SensorJSON{
		Sensor: r.Sensor.Name, Verdict: j.Verdict.String(), Curve: curveJSON(r.Sensor), Rows: []RowJSON{},
		Margins:  marginsJSON(r),
		Worst:    worstJSON(r),
		Choice:   choiceJSON(r.Choice),
		Repair:   repairJSON(r),
		Next:     nextJSON(r.Next),
		ClearRPM: j.ClearFromRPM, Findings: findingsJSON(r.Findings),
	}
	for i, row := range j.Rows {
		out.Rows = append(out.Rows, rowJSON(r, i, row))
	}
	return out
}

func rowJSON(r threshold.Result, i int, row threshold.JudgedRow) RowJSON {
	w := row.Window
	out := RowJSON{
		RPM: row.RPM, ThresholdV: thresholdV(row.ThresholdV), PeakV: w.PeakV, WeakestV: w.WeakestV, NoiseV: w.NoiseV,
		NoisePart: maybeText(w.NoisePart), SignalMargin: row.SignalMargin, NoiseMargin: row.NoiseMargin,
		SignalMarginDB: decibels(row.SignalMargin), NoiseMarginDB: decibels(row.NoiseMargin),
		Verdict: row.Verdict.String(), WorstRPM: row.WorstRPM, Extrapolated: w.Extrapolated,
		FalsePerHour: row.FalsePerHour, MissedPerMillion: row.MissedPerMillion,
	}
	if r.Suggested != nil {
		out.SuggestedV = thresholdV(r.Suggested.Rows[i].ThresholdV)
	}
	return out
}

func decibels(m captures.Maybe) captures.Maybe {
	if !m.Known || m.Value <= 0 {
		return captures.Maybe{}
	}
	return captures.Some(20 * math.Log10(m.Value))
}

func maybeText(text string) *string {
	if text == "" {
		return nil
	}
	return &text
}

// curveSamples is how many speeds the curve is given at, a constant ratio
// apart.
const curveSamples = 80

func curveJSON(s *threshold.Sensor) CurveJSON {
	c := s.Curve
	out := CurveJSON{Model: c.Model, Parameters: map[string]float64{}, MeasuredRPM: [2]float64{c.LowRPM, c.HighRPM}, Scatter: c.Scatter}
	for _, p := range c.Parameters {
		out.Parameters[strings.ToLower(p.Name)] = p.Value
	}
	if corner, ok := c.CornerRPM(); ok {
		out.CornerRPM = captures.Some(corner)
		out.LagCrankDeg = s.LagCrankDeg(s.LimitRPM)
	}
	for _, rpm := range curveSpeeds(s) {
		out.Samples = append(out.Samples, sampleJSON(s, rpm))
	}
	return out
}

// curveSpeeds are the speeds that a sensor's curve is given at.
func curveSpeeds(s *threshold.Sensor) []float64 {
	speeds := make([]float64, curveSamples)
	low := min(s.Options.CrankingLowRPM, s.Curve.LowRPM)
	for i := range speeds {
		speeds[i] = low * math.Pow(s.LimitRPM/low, float64(i)/(curveSamples-1))
	}
	speeds[curveSamples-1] = s.LimitRPM
	return speeds
}

func sampleJSON(s *threshold.Sensor, rpm float64) SampleJSON {
	e, w := s.Curve.At(rpm), s.Window(rpm)
	out := SampleJSON{RPM: rpm, PeakV: e.V, LowV: e.LowV, HighV: e.HighV, WeakestV: s.WeakestV(rpm), NoiseV: w.NoiseV, Extrapolated: w.Extrapolated}
	for _, part := range s.NoiseParts(rpm) {
		if out.NoiseParts == nil {
			out.NoiseParts = map[string]float64{}
		}
		out.NoiseParts[part.Name] = part.V
	}
	return out
}

// marginsJSON gives the margins at standstill, along the curve, at the rows
// and at the worst speed; right below the rows too where a row holds up to the
// next.
func marginsJSON(r threshold.Result) []MarginJSON {
	speeds := append([]float64{0, r.Judgement.Worst.RPM}, curveSpeeds(r.Sensor)...)
	for _, row := range r.Table.Rows {
		speeds = append(speeds, row.RPM)
		if r.Table.BetweenRows == threshold.Step {
			speeds = append(speeds, math.Nextafter(row.RPM, 0))
		}
	}
	slices.Sort(speeds)
	list := []MarginJSON{}
	for _, rpm := range slices.Compact(speeds) {
		if rpm <= r.Sensor.LimitRPM {
			list = append(list, marginJSON(r, rpm))
		}
	}
	return list
}

func marginJSON(r threshold.Result, rpm float64) MarginJSON {
	w, atV := r.Sensor.Window(rpm), thresholdV(r.Table.At(rpm))
	out := MarginJSON{RPM: rpm, ThresholdV: atV, WeakestV: w.WeakestV, NoiseV: w.NoiseV, SignalTarget: w.SignalTarget, NoiseTarget: w.NoiseTarget}
	out.SignalMargin, out.NoiseMargin = w.Margins(atV)
	return out
}
