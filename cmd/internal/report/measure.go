package report

import (
	"fmt"
	"slices"
	"strconv"
	"strings"

	"armcurve/captures"
	"armcurve/captures/csvfile"
	"armcurve/captures/teeth"
)

// MeasuredCapture is what one capture showed of one sensor.
type MeasuredCapture struct {
	Name        string // of the file
	Measurement teeth.Measurement
	Recording   *Recording // for pictures; nil for none
}

// Measured is the document of what captures showed.
func Measured(list []MeasuredCapture, c Context) Document {
	var sentences []string
	var readings []captures.Reading
	several := severalSensors(list)
	for _, m := range list {
		sentences = append(sentences, m.label(several)+": "+measuredSentence(m.Measurement))
		readings = append(readings, m.Measurement.Readings...)
	}
	d := c.document(nil)
	d.Sentence = strings.Join(sentences, "; ") + "."
	var section Section
	if len(readings) > 0 {
		section.Tables = []Table{readingsTable(readings, several)}
	}
	for _, m := range list {
		section.Findings = append(section.Findings, Told(m, severalFiles(list), several)(m.Measurement.Findings...)...)
		section.Notes = append(section.Notes, evidence(m, several)...)
	}
	d.Sections = append([]Section{section}, waveSections(list)...)
	d.Caution = measuringCaution
	return d
}

// severalSensors tells that captures of more than one sensor were measured.
func severalSensors(list []MeasuredCapture) bool {
	return slices.ContainsFunc(list, func(m MeasuredCapture) bool { return m.Measurement.Sensor != list[0].Measurement.Sensor })
}

// severalFiles tells that more than one file was measured.
func severalFiles(list []MeasuredCapture) bool {
	return slices.ContainsFunc(list, func(m MeasuredCapture) bool { return m.Name != list[0].Name })
}

// Told leads findings by the capture they speak of where there are several files,
// and by its sensor where there are several of these.
func Told(m MeasuredCapture, severalFiles, severalSensors bool) func(...captures.Finding) []captures.Finding {
	whom := ""
	switch {
	case severalFiles:
		whom = m.label(severalSensors)
	case severalSensors:
		whom = m.Measurement.Sensor
	}
	return func(findings ...captures.Finding) []captures.Finding {
		if whom == "" {
			return findings
		}
		return captures.Of(whom, findings)
	}
}

// label names a capture, and its sensor where there are several.
func (m MeasuredCapture) label(several bool) string {
	if several {
		return m.Name + ", " + m.Measurement.Sensor
	}
	return m.Name
}

// measuringCaution stands under what was measured.
const measuringCaution = "Before the next capture: injection and ignition disabled, both of them, to crank; " +
	"clear of belts, fans and flywheel; ×10 probe, and mind the instrument's limit."

func measuredSentence(m teeth.Measurement) string {
	switch {
	case m.Signal != teeth.Reluctor:
		return m.SignalWhy
	case m.Polarity == teeth.Reversed:
		return "a reluctor wired the wrong way round"
	}
	wheel := "on a wheel that could not be told"
	if m.Wheel.Known() {
		wheel = "on a " + m.Wheel.String() + " wheel"
	}
	return fmt.Sprintf("a reluctor %s, %d teeth in %d turns, %s", wheel, m.Teeth, m.Revolutions, speedsOf(m.Readings))
}

func speedsOf(readings []captures.Reading) string {
	if len(readings) == 0 {
		return "no reading"
	}
	low, high := readings[0].RPM, readings[0].RPM
	for _, r := range readings {
		low, high = min(low, r.RPM), max(high, r.RPM)
	}
	if len(readings) == 1 {
		return "one reading at " + rpmText(low) + " rpm"
	}
	return fmt.Sprintf("%d readings from %s to %s rpm", len(readings), rpmText(low), rpmText(high))
}

// evidence says what the conclusions rest on.
func evidence(m MeasuredCapture, several bool) []string {
	var lines []string
	for _, e := range []struct{ what, result, why string }{
		{"signal", m.Measurement.Signal, m.Measurement.SignalWhy},
		{"polarity", m.Measurement.Polarity, m.Measurement.PolarityWhy},
		{"wheel", m.Measurement.Wheel.String(), m.Measurement.WheelWhy},
	} {
		if e.result == "" {
			e.result = teeth.Unknown
		}
		line := fmt.Sprintf("%s: %s %s", m.label(several), e.what, e.result)
		if e.why != "" {
			line += ": " + e.why
		}
		lines = append(lines, line)
	}
	return lines
}

// shownReadings are the columns of readings that stand on the screen.
var shownReadings = []string{"rpm", "peak_v", "weakest_v", "noise_v", "noise_rms_v", "hump_v", "spike_v", "teeth_measured"}

// readingsTable has the columns that a file of readings has, to the last
// digit. Where there are several sensors the screen says whose each is.
func readingsTable(readings []captures.Reading, several bool) Table {
	cells := csvfile.Cells(readings)
	t := Table{Data: true}
	for _, key := range cells[0] {
		t.Columns = append(t.Columns, Column{Head: readingHead(key), Key: key, Wide: !slices.Contains(shownReadings, key) && !(several && key == "sensor"), Left: textColumn(key)})
	}
	for _, row := range cells[1:] {
		line := make([]Cell, len(row))
		for i, exact := range row {
			line[i] = readingCell(cells[0][i], exact)
		}
		t.Rows = append(t.Rows, line)
	}
	return t
}

func textColumn(key string) bool {
	return slices.Contains([]string{"sensor", "condition", "wheel", "clipped", "note"}, key)
}

// readingHead turns "noise_rms_v" into "noise rms V".
func readingHead(key string) string {
	head := strings.ReplaceAll(key, "_", " ")
	for unit, written := range map[string]string{" v": " V", " hz": " Hz"} {
		if before, found := strings.CutSuffix(head, unit); found {
			head = before + written
		}
	}
	return strings.TrimSuffix(head, " measured")
}

func readingCell(key, exact string) Cell {
	v, err := strconv.ParseFloat(exact, 64)
	switch {
	case exact == "":
		return Cell{Text: unknown}
	case err != nil || textColumn(key):
		return word(exact)
	case strings.HasSuffix(key, "_v"):
		return Cell{voltText(v), exact}
	case strings.HasSuffix(key, "_s"):
		return Cell{brief(v, 3).Text, exact}
	case key == "ripple":
		return Cell{strconv.FormatFloat(v, 'f', 3, 64), exact}
	}
	return Cell{strconv.FormatFloat(v, 'f', 0, 64), exact}
}

// MeasuredJSON is the JSON of what captures showed.
type MeasuredJSON struct {
	Envelope
	Captures []CaptureJSON `json:"captures"`
	Readings []ReadingJSON `json:"readings"`
}

// CaptureJSON is one capture.
type CaptureJSON struct {
	File         string           `json:"file"`
	Channel      string           `json:"channel"`
	Sensor       string           `json:"sensor"`
	Signal       string           `json:"signal"`
	Polarity     string           `json:"polarity"`
	Wheel        WheelJSON        `json:"wheel"`
	Ripple       captures.Maybe   `json:"ripple"`
	TeethSeen    int64            `json:"teeth_seen"`
	Revolutions  []RevolutionJSON `json:"revolutions,omitempty"`
	ToothList    []ToothJSON      `json:"tooth_list,omitempty"`
	ToothHeights []HeightJSON     `json:"tooth_heights"`
	Findings     []FindingJSON    `json:"findings"`
}

// HeightJSON is the mean peak of a tooth ÷ that of the mean tooth.
type HeightJSON struct {
	Tooth  int            `json:"tooth"`
	OfMean captures.Maybe `json:"of_mean"`
}

func heightsJSON(shares []float64) []HeightJSON {
	list := []HeightJSON{}
	for i, share := range shares {
		list = append(list, HeightJSON{i + 1, captures.Finite(share)})
	}
	return list
}

// WheelJSON is the wheel that was found and the one that was stated.
type WheelJSON struct {
	Pattern *string `json:"pattern"`
	Teeth   *int    `json:"teeth"`
	Missing *int    `json:"missing"`
	Gaps    *int    `json:"gaps"`
	Stated  *string `json:"stated"`
}

// RevolutionJSON is one turn of the wheel.
type RevolutionJSON struct {
	StartS    float64        `json:"start_s"`
	RPM       float64        `json:"rpm"`
	PeakV     captures.Maybe `json:"peak_v"`
	WeakestV  captures.Maybe `json:"weakest_v"`
	NoiseV    captures.Maybe `json:"noise_v"`
	NoiseRMSV captures.Maybe `json:"noise_rms_v"`
}

// ToothJSON is one tooth.
type ToothJSON struct {
	TimeS float64        `json:"t_s"`
	Tooth int            `json:"tooth"`
	PeakV captures.Maybe `json:"peak_v"`
	RPM   captures.Maybe `json:"rpm"`
}

// ReadingJSON has the columns of a file of readings.
type ReadingJSON struct {
	RPM           float64        `json:"rpm"`
	Sensor        string         `json:"sensor"`
	PeakV         captures.Maybe `json:"peak_v"`
	WeakestV      captures.Maybe `json:"weakest_v"`
	PeakSDV       captures.Maybe `json:"peak_sd_v"`
	NoiseV        captures.Maybe `json:"noise_v"`
	NoiseRMSV     captures.Maybe `json:"noise_rms_v"`
	NoiseRateHz   captures.Maybe `json:"noise_rate_hz"`
	NoiseRecordS  captures.Maybe `json:"noise_record_s"`
	ToneV         captures.Maybe `json:"tone_v"`
	SpikeV        captures.Maybe `json:"spike_v"`
	HumpV         captures.Maybe `json:"hump_v"`
	TeethMeasured captures.Maybe `json:"teeth_measured"`
	Ripple        captures.Maybe `json:"ripple"`
	PeakRPM       captures.Maybe `json:"peak_rpm"`
	Clipped       bool           `json:"clipped"`
	Wheel         *string        `json:"wheel"`
	Source        string         `json:"source"`
}

// MeasureJSON is the JSON of what captures showed. The verdict is "measured",
// or "not-measured" where no capture gave a reading.
func MeasureJSON(list []MeasuredCapture, c Context) MeasuredJSON {
	out := MeasuredJSON{Envelope: c.envelope("measure", "not-measured"), Captures: []CaptureJSON{}, Readings: []ReadingJSON{}}
	for _, m := range list {
		out.Captures = append(out.Captures, captureJSON(m))
		for _, r := range m.Measurement.Readings {
			out.Verdict = "measured"
			out.Readings = append(out.Readings, readingJSON(r))
		}
	}
	return out
}

func captureJSON(m MeasuredCapture) CaptureJSON {
	x := m.Measurement
	out := CaptureJSON{
		File: m.Name, Channel: x.Channel.Name, Sensor: x.Sensor, Signal: x.Signal, Polarity: x.Polarity,
		Wheel: wheelJSON(x.Wheel, x.Stated), Ripple: x.Ripple, TeethSeen: x.Teeth, ToothHeights: heightsJSON(x.Weak), Findings: findingsJSON(x.Findings),
	}
	for _, r := range x.RevolutionList {
		out.Revolutions = append(out.Revolutions, RevolutionJSON{r.StartS, r.RPM, r.PeakV, r.WeakestV, r.NoiseV, r.NoiseRMSV})
	}
	for _, t := range x.ToothList {
		out.ToothList = append(out.ToothList, ToothJSON{t.TimeS, t.Number, captures.Finite(t.PeakV), captures.Finite(t.RPM)})
	}
	return out
}

func wheelJSON(found, stated captures.Wheel) WheelJSON {
	w := WheelJSON{Pattern: maybeText(found.String()), Stated: maybeText(stated.String())}
	if !found.Known() {
		return w
	}
	present, gaps, missing := found.TeethPresent(), len(found.Missing), 0
	for _, m := range found.Missing {
		missing += m
	}
	w.Teeth, w.Missing, w.Gaps = &present, &missing, &gaps
	return w
}

func readingJSON(r captures.Reading) ReadingJSON {
	return ReadingJSON{
		RPM: r.RPM, Sensor: r.Sensor, PeakV: r.PeakV, WeakestV: r.WeakestV, PeakSDV: r.PeakSDV, NoiseV: r.NoiseV, NoiseRMSV: r.NoiseRMSV,
		NoiseRateHz: r.NoiseRateHz, NoiseRecordS: r.NoiseRecordS, ToneV: r.ToneV, SpikeV: r.SpikeV, HumpV: r.HumpV,
		TeethMeasured: r.TeethMeasured, Ripple: r.Ripple, PeakRPM: r.PeakRPM, Clipped: r.Clipped, Wheel: maybeText(r.Wheel), Source: r.Pos.String(),
	}
}
