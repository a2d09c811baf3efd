package csvfile

import (
	"encoding/csv"
	"errors"
	"io"
	"slices"

	"armcurve/captures"
)

// WriteReadings writes readings as a CSV file that ReadReadings reads back as
// the same readings, if they are such as it gives. Columns of which no reading
// knows anything are left out. PeakV is written as the peak it is, whatever it
// was converted from; spaces in texts become single ones.
func WriteReadings(w io.Writer, readings []captures.Reading) error {
	if len(readings) == 0 {
		return errors.New("no readings to write")
	}
	return csv.NewWriter(w).WriteAll(Cells(readings))
}

// Cells are the cells that WriteReadings writes, the header first.
func Cells(readings []captures.Reading) [][]string {
	var columns []field
	for _, f := range fields {
		if (!f.peak || f.quantity == captures.Peak) && (f.name == "rpm" || f.inUse(readings)) {
			columns = append(columns, f)
		}
	}
	cells := [][]string{make([]string, len(columns))}
	for i, f := range columns {
		cells[0][i] = f.name
	}
	for _, reading := range readings {
		row := make([]string, len(columns))
		for i, f := range columns {
			row[i] = f.write(reading)
		}
		cells = append(cells, row)
	}
	return cells
}

// inUse tells whether any reading says something in this field that reading an
// empty cell would not.
func (f field) inUse(readings []captures.Reading) bool {
	return slices.ContainsFunc(readings, func(reading captures.Reading) bool {
		value := f.write(reading)
		return value != "" && (f.name != "sensor" || value != captures.Crank)
	})
}

// write gives the field as a cell, "" where it is not known.
func (f field) write(reading captures.Reading) string {
	r := row{Reading: reading, rpm: captures.Some(reading.RPM)}
	if f.text != nil {
		return oneLine(f.text(&r))
	}
	if v := f.number(&r); v.Known {
		return exactly(v.Value)
	}
	return ""
}
