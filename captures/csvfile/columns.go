package csvfile

import (
	"fmt"
	"strings"

	"armcurve/captures"
)

// column is one column of a readings file: its cell in the header and the
// field it gives. The field is nil where the column is to be left alone.
type column struct {
	cell
	field   *field
	divisor float64
}

func (c column) isNumber() bool { return c.field != nil && c.field.number != nil }

// resolve finds the fields of a header. Columns whose name starts with x_ are
// the user's own.
func resolve(header []cell) ([]column, Errors) {
	var errs Errors
	columns := make([]column, len(header))
	for i, head := range header {
		name := columnName(head.text)
		columns[i] = column{cell: cell{head.pos, name}}
		if strings.HasPrefix(name, "x_") {
			continue
		}
		columns[i].field, columns[i].divisor = findField(fields, name)
		if columns[i].field == nil {
			errs = append(errs, unknownColumn(head, i))
		}
	}
	if errs != nil {
		return nil, errs
	}
	return columns, append(repeated(columns), missing(columns)...)
}

func unknownColumn(head cell, index int) LineError {
	e := LineError{Pos: head.pos}
	if head.text == "" {
		e.Text = fmt.Sprintf("found no name for column %d; want one for every column", index+1)
		return e
	}
	e.Text = fmt.Sprintf("found a column %s; want the name of a known column, or one that starts with x_ for your own", shown(head.text))
	if likely := likelyName(columnName(head.text)); likely != "" {
		e.Text = fmt.Sprintf("found a column %s; did you mean %s? (columns of your own start with x_)", shown(head.text), likely)
	}
	return e
}

// meant has names that people use and that are too far from the right one to
// be taken for a slip of the finger.
var meant = map[string]string{
	"n": "rpm", "speed": "rpm", "engine_speed": "rpm",
	"vpp": "peak_to_peak_v", "v_pp": "peak_to_peak_v", "vp-p": "peak_to_peak_v", "pp": "peak_to_peak_v", "p-p": "peak_to_peak_v", "pk-pk": "peak_to_peak_v", "peak_to_peak": "peak_to_peak_v",
	"vrms": "rms_v", "v_rms": "rms_v", "ac_v": "rms_v", "vac": "rms_v", "v_ac": "rms_v",
	"vpeak": "peak_v", "v_peak": "peak_v", "vp": "peak_v",
	"v": "peak_v, peak_to_peak_v or rms_v", "volts": "peak_v, peak_to_peak_v or rms_v", "voltage": "peak_v, peak_to_peak_v or rms_v", "amplitude": "peak_v, peak_to_peak_v or rms_v",
	"comment": "note", "comments": "note", "min_v": "weakest_v",
}

func likelyName(name string) string {
	if likely := meant[name]; likely != "" {
		return likely
	}
	return Nearest(name, fieldNames())
}

// repeated finds fields that several columns give.
func repeated(columns []column) Errors {
	var errs Errors
	first := map[*field]column{}
	for _, c := range columns {
		if c.field == nil {
			continue
		}
		if earlier, found := first[c.field]; found {
			errs = append(errs, LineError{Pos: c.pos, Column: c.text,
				Text: fmt.Sprintf("found the column again (%q, column %d of the line); want it once", earlier.text, earlier.pos.Column)})
			continue
		}
		first[c.field] = c
	}
	return errs
}

// missing tells what a header lacks, or has too much of, to be one of readings.
func missing(columns []column) Errors {
	var rpm, noise bool
	var peaks []string
	stated := map[captures.Quantity]bool{}
	for _, c := range columns {
		switch {
		case c.field == nil:
		case c.field.name == "rpm":
			rpm = true
		case c.field.peak && !stated[c.field.quantity]:
			stated[c.field.quantity] = true
			peaks = append(peaks, c.text)
		case c.field.noise:
			noise = true
		}
	}
	top := columns[0].pos
	var errs Errors
	if !rpm {
		errs = append(errs, LineError{Pos: top, Text: `found no column "rpm"; want the engine speed of every line`})
	}
	if len(peaks) == 0 && !noise {
		errs = append(errs, LineError{Pos: top, Text: "found no column with the signal; want one of peak_v, peak_to_peak_v, rms_v (or one with the noise: noise_v, noise_rms_v)"})
	}
	if len(peaks) > 1 {
		errs = append(errs, LineError{Pos: top, Text: "found " + strings.Join(peaks, " and ") + "; want one of peak_v, peak_to_peak_v, rms_v: keep what was read off the instrument"})
	}
	return errs
}

// quantityOf is what the peaks of a file were read off as.
func quantityOf(columns []column) captures.Quantity {
	for _, c := range columns {
		if c.field != nil && c.field.peak {
			return c.field.quantity
		}
	}
	return captures.Peak
}
