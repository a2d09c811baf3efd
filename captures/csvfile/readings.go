package csvfile

import (
	"fmt"
	"io"
	"slices"

	"armcurve/captures"
)

// ReadingsOptions says how to read a file of readings. The zero value reads
// everything from the file.
type ReadingsOptions struct {
	Dialect
	// VoltsTimes multiplies every voltage, 10 for a ×10 probe on a channel
	// left at ×1; 0 is 1.
	VoltsTimes float64
}

// ReadingsFile is a file of readings as it was read.
type ReadingsFile struct {
	// Readings are in the order of the file, repeated lines once; at least one.
	Readings []captures.Reading
	// Quantity is what was given for the peak. PeakV is converted from it.
	Quantity captures.Quantity
	// ReadAs says in a few words how the file was read.
	ReadAs   string
	Findings []captures.Finding
}

// ReadReadings reads a CSV file of readings: a header with rpm, at most one of
// peak_v, peak_to_peak_v and rms_v, and any of the other columns; below it one
// line for each reading. The name is that of the file, for messages. The error
// is of type Errors and holds every bad line.
func ReadReadings(r io.Reader, name string, options ReadingsOptions) (ReadingsFile, error) {
	lines, errs := readLines(r, name, options.Dialect, fields, resolve)
	var readings []captures.Reading
	for _, cells := range lines.rows {
		reading, lineErrs := lines.reading(cells)
		errs = append(errs, lineErrs...)
		readings = append(readings, reading)
	}
	if len(errs) > 0 {
		return ReadingsFile{}, errs.orNil()
	}
	return describe(readings, lines, options.VoltsTimes), nil
}

// describe completes what a caller may want to know of a file.
func describe(readings []captures.Reading, l lines, voltsTimes float64) ReadingsFile {
	file := ReadingsFile{Quantity: quantityOf(l.columns), ReadAs: l.readAs("readings", "line")}
	file.Readings, file.Findings = Distinct(readings)
	file.Findings = append(file.Findings, unordered(readings)...)
	file.Findings = append(file.Findings, doubtfulNoise(readings)...)
	if voltsTimes != 0 {
		for i := range file.Readings {
			scale(&file.Readings[i], voltsTimes)
		}
	}
	return file
}

// scale multiplies every voltage of a reading.
func scale(reading *captures.Reading, voltsTimes float64) {
	r := row{Reading: *reading}
	for _, f := range fields {
		if f.volts && (!f.peak || f.quantity == captures.Peak) {
			v := f.number(&r)
			*v = v.Times(voltsTimes)
		}
	}
	*reading = r.Reading
}

// reading turns one line into a reading.
func (l lines) reading(cells []cell) (captures.Reading, Errors) {
	r, errs := l.row(cells)
	if errs != nil {
		return captures.Reading{}, errs
	}
	start := cells[0].pos
	r.Pos = captures.Pos{File: start.File, Line: start.Line}
	r.RPM = r.rpm.Value
	r.ReadAs = quantityOf(l.columns)
	r.PeakV = r.PeakV.Times(r.ReadAs.ToPeak())
	if r.Sensor == "" {
		r.Sensor = captures.Crank
	}
	if err := l.contradiction(r, cells); err != nil {
		return captures.Reading{}, Errors{*err}
	}
	return r.Reading, nil
}

// contradiction finds what is wrong with a line whose cells are each fine.
func (l lines) contradiction(r row, cells []cell) *LineError {
	line := LineError{Pos: cells[0].pos}
	switch {
	case !r.rpm.Known:
		line.Column, line.Text = "rpm", "the cell is empty; want the engine speed"
	case r.RPM == 0 && (r.PeakV.Known || r.WeakestV.Known):
		line.Text = "found a tooth voltage at 0 rpm; want only noise at standstill"
		line.Hint = "a stopped wheel gives no signal: give the speed the wheel turned at, or put what was seen into noise_v"
	case !r.PeakV.Known && !r.HasNoise():
		line.Text = "found neither a peak nor a noise; want one of them on every line"
	case r.WeakestV.Known && r.PeakV.Known && above(r.WeakestV.Value, r.PeakV.Value):
		line = l.weakestAbovePeak(r, cells)
	case r.PeakRPM.Known && !near(r.PeakRPM.Value, r.RPM):
		line = l.strangePeakRPM(r, cells)
	default:
		return nil
	}
	return &line
}

// near tells that the speed at teeth can be one within a turn of a mean speed: no engine
// turns unevenly enough for teeth to pass, on the mean, at twice that.
func near(peakRPM, rpm float64) bool { return peakRPM < 2*rpm && rpm < 2*peakRPM }

func (l lines) strangePeakRPM(r row, cells []cell) LineError {
	at := l.column("peak_rpm")
	return LineError{Pos: cells[at].pos, Column: l.columns[at].text,
		Text: fmt.Sprintf("found %.4g beside %.4g rpm; want the mean of the speeds at which the measured teeth passed, which is near rpm", r.PeakRPM.Value, r.RPM)}
}

// column is the place of the column of that name.
func (l lines) column(name string) int {
	return slices.IndexFunc(l.columns, func(c column) bool { return c.field != nil && c.field.name == name })
}

func (l lines) weakestAbovePeak(r row, cells []cell) LineError {
	at := l.column("weakest_v")
	peak := fmt.Sprintf("the peak of %.4g V", r.PeakV.Value)
	if r.ReadAs != captures.Peak {
		peak += fmt.Sprintf(" (from %s)", r.ReadAs)
	}
	return LineError{Pos: cells[at].pos, Column: l.columns[at].text,
		Text: fmt.Sprintf("found %.4g V, above %s; want the lowest tooth, at most the mean of all", r.WeakestV.Value, peak)}
}

// above leaves room for what converting two units rounds.
func above(a, b float64) bool { return a > b*(1+1e-9) }
