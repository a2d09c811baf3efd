package csvfile

import (
	"math"
	"strconv"
	"strings"

	"armcurve/captures"
)

// row is what a line says, on its way into a reading or a row of a table.
type row struct {
	captures.Reading
	rpm       captures.Maybe
	threshold captures.Maybe
}

// field is one thing a line can tell, a number or a text.
type field struct {
	name string
	// required tells that no line may do without it.
	required bool
	// volts tells that it may also be given in millivolts, under a name
	// ending in _mv.
	volts bool
	// peak tells that it states the peak, as quantity, which conversion turns
	// into one.
	peak       bool
	quantity   captures.Quantity
	conversion string
	// noise tells that it alone makes a line worth reading.
	noise bool

	number func(*row) *captures.Maybe
	limit  limit // of the number as written, in the field's unit

	text    func(*row) string
	setText func(*row, string) (want string)
}

var speedField = field{name: "rpm", required: true, number: func(r *row) *captures.Maybe { return &r.rpm }, limit: speed}

// fields are those of a reading, in the order in which they are written.
var fields = []field{
	speedField,
	{name: "sensor", text: func(r *row) string { return r.Sensor }, setText: setSensor},
	{name: "condition", text: func(r *row) string { return r.Condition }, setText: setCondition},
	{name: "peak_v", volts: true, peak: true, quantity: captures.Peak, number: peakOf, limit: signalVolts},
	{name: "peak_to_peak_v", volts: true, peak: true, quantity: captures.PeakToPeak, conversion: "halved", number: peakOf, limit: signalVolts},
	{name: "rms_v", volts: true, peak: true, quantity: captures.RMS, conversion: "× √2", number: peakOf, limit: signalVolts},
	{name: "weakest_v", volts: true, number: func(r *row) *captures.Maybe { return &r.WeakestV }, limit: signalVolts},
	{name: "peak_sd_v", volts: true, number: func(r *row) *captures.Maybe { return &r.PeakSDV }, limit: volts},
	{name: "noise_v", volts: true, noise: true, number: func(r *row) *captures.Maybe { return &r.NoiseV }, limit: volts},
	{name: "noise_rms_v", volts: true, noise: true, number: func(r *row) *captures.Maybe { return &r.NoiseRMSV }, limit: volts},
	{name: "noise_rate_hz", number: func(r *row) *captures.Maybe { return &r.NoiseRateHz }, limit: aboveZero},
	{name: "noise_record_s", number: func(r *row) *captures.Maybe { return &r.NoiseRecordS }, limit: aboveZero},
	{name: "tone_v", volts: true, noise: true, number: func(r *row) *captures.Maybe { return &r.ToneV }, limit: volts},
	{name: "spike_v", volts: true, noise: true, number: func(r *row) *captures.Maybe { return &r.SpikeV }, limit: volts},
	{name: "hump_v", volts: true, number: func(r *row) *captures.Maybe { return &r.HumpV }, limit: volts},
	{name: "teeth_measured", number: func(r *row) *captures.Maybe { return &r.TeethMeasured }, limit: count},
	{name: "ripple", number: func(r *row) *captures.Maybe { return &r.Ripple }, limit: part},
	{name: "peak_rpm", number: func(r *row) *captures.Maybe { return &r.PeakRPM }, limit: atPeaks},
	{name: "wheel", text: func(r *row) string { return r.Wheel }, setText: setWheel},
	{name: "clipped", text: clippedText, setText: setClipped},
	{name: "note", text: func(r *row) string { return r.Note }, setText: setNote},
}

func peakOf(r *row) *captures.Maybe { return &r.PeakV }

// findField returns the field of a column and what its numbers are divided by
// to give the field's unit; nil for a name that is none.
func findField(fields []field, name string) (*field, float64) {
	volts, inMillivolts := strings.CutSuffix(name, "_mv")
	for i := range fields {
		f := &fields[i]
		switch {
		case f.name == name:
			return f, 1
		case f.volts && inMillivolts && f.name == volts+"_v":
			return f, 1000
		}
	}
	return nil, 0
}

func fieldNames() []string {
	names := make([]string, len(fields))
	for i, f := range fields {
		names[i] = f.name
	}
	return names
}

// limit tells what is wanted of a number, and what to do about it, if it is
// out of range.
type limit func(value float64) (want, hint string)

const (
	maxRPM   = 30000
	maxVolts = 1000
)

func speed(rpm float64) (want, hint string) {
	switch {
	case rpm < 0:
		return "want an engine speed of 0 or more", ""
	case rpm > 0 && rpm < 1:
		return "want an engine speed in rpm: 0, or 1 and more", ""
	case rpm > maxRPM:
		return "want an engine speed in rpm, up to 30000",
			"is this the tooth frequency? rpm of the wheel = tooth frequency in Hz × 60 ÷ teeth, missing ones counted"
	}
	return "", ""
}

func volts(v float64) (want, hint string) {
	switch {
	case v < 0:
		return "want 0 or more", "read the height above the rest level on the side the input arms on; if that side is the lower one, check the polarity of the wires"
	case v > maxVolts:
		return "want volts, up to 1000", "if these are millivolts, let the column's name end in _mv"
	}
	return "", ""
}

func signalVolts(v float64) (want, hint string) {
	if v == 0 {
		return "want more than 0, or an empty cell where it was not measured", ""
	}
	return volts(v)
}

// atPeaks holds for the speed at the measured teeth, in which a wheel turns.
func atPeaks(rpm float64) (want, hint string) {
	if rpm == 0 {
		return "want an engine speed above 0, or an empty cell where it is not known", ""
	}
	return speed(rpm)
}

func aboveZero(v float64) (want, hint string) {
	if v <= 0 {
		return "want more than 0, or an empty cell where it is not known", ""
	}
	return "", ""
}

func count(v float64) (want, hint string) {
	if v < 1 || v != math.Trunc(v) {
		return "want a whole number of teeth, 1 or more", ""
	}
	return "", ""
}

func part(v float64) (want, hint string) {
	if v < 0 || v > 1 {
		return "want a part of 1, from 0 to 1: 40 % is 0.4", ""
	}
	return "", ""
}

func setSensor(r *row, text string) (want string) {
	switch sensor := strings.ToLower(text); sensor {
	case captures.Crank, captures.Cam:
		r.Sensor = sensor
		return ""
	}
	return "want crank or cam"
}

func setClipped(r *row, text string) (want string) {
	switch strings.ToLower(text) {
	case "yes", "true", "1":
		r.Clipped = true
	case "no", "false", "0":
	default:
		return "want yes, no or an empty cell"
	}
	return ""
}

func clippedText(r *row) string {
	if r.Clipped {
		return "yes"
	}
	return ""
}

func setCondition(r *row, text string) (want string) {
	r.Condition = oneLine(text)
	return ""
}

func setNote(r *row, text string) (want string) {
	r.Note = oneLine(text)
	return ""
}

// oneLine joins the words of a text with single spaces.
func oneLine(text string) string {
	return strings.Join(strings.Fields(strings.ToValidUTF8(text, "?")), " ")
}

// exactly writes a number so that it reads back as the same one.
func exactly(v float64) string { return strconv.FormatFloat(v, 'g', -1, 64) }

func setWheel(r *row, text string) (want string) {
	wheel, err := captures.ParseWheel(text)
	if err != nil {
		return "want teeth and missing teeth, such as 36-1, or angles such as @0,180,420"
	}
	r.Wheel = wheel.String()
	return ""
}
