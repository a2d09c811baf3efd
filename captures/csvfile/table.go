package csvfile

import (
	"cmp"
	"fmt"
	"io"
	"slices"

	"armcurve/captures"
)

// TableRow is one row of a threshold table.
type TableRow struct {
	Pos        captures.Pos
	Sensor     string  // captures.Crank or captures.Cam; "" in a table that names none
	RPM        float64 // engine speed, 0 or more
	ThresholdV float64 // volts from the rest level, 0 or more
}

// TableFile is a threshold table as it was read.
type TableFile struct {
	// Rows are in rising order of speed, every speed once for each sensor; at
	// least one.
	Rows []TableRow
	// ReadAs says in a few words how the table was read.
	ReadAs string
}

// NamesSensors tells whether the rows say which sensor they are for.
func (t TableFile) NamesSensors() bool { return len(t.Rows) > 0 && t.Rows[0].Sensor != "" }

// Of returns the rows for a sensor: all rows of a table that names none.
func (t TableFile) Of(sensor string) []TableRow {
	if !t.NamesSensors() {
		return t.Rows
	}
	return slices.DeleteFunc(slices.Clone(t.Rows), func(r TableRow) bool { return r.Sensor != sensor })
}

// ReadTable reads a CSV file with the columns rpm and threshold_v (or
// threshold_mv), and sensor if it holds the tables of both, in any order of
// rows; other columns are ignored. The name is that of the file, for messages.
// The error is of type Errors and holds every bad line.
func ReadTable(r io.Reader, name string, dialect Dialect) (TableFile, error) {
	lines, errs := readLines(r, name, dialect, tableFields, tableColumns)
	var rows []TableRow
	for _, cells := range lines.rows {
		row, lineErrs := lines.tableRow(cells)
		errs = append(errs, lineErrs...)
		rows = append(rows, row)
	}
	if len(errs) == 0 {
		errs = sortRows(rows)
	}
	if len(errs) > 0 {
		return TableFile{}, errs.orNil()
	}
	return TableFile{Rows: rows, ReadAs: lines.readAs("table", "row")}, nil
}

var tableFields = []field{
	speedField,
	{name: "sensor", text: func(r *row) string { return r.Sensor }, setText: setSensor},
	{name: "threshold_v", required: true, volts: true, number: func(r *row) *captures.Maybe { return &r.threshold }, limit: thresholdVolts},
}

func thresholdVolts(v float64) (want, hint string) {
	if v < 0 {
		return "want 0 or more", "a threshold is measured from the rest level towards the side the input arms on"
	}
	return volts(v)
}

// tableColumns finds the columns of a table and ignores the others.
func tableColumns(header []cell) ([]column, Errors) {
	columns := make([]column, len(header))
	found := map[string]bool{}
	for i, head := range header {
		columns[i] = column{cell: cell{head.pos, columnName(head.text)}}
		columns[i].field, columns[i].divisor = findField(tableFields, columns[i].text)
		if columns[i].field != nil {
			found[columns[i].field.name] = true
		}
	}
	var errs Errors
	for _, f := range tableFields {
		if f.required && !found[f.name] {
			errs = append(errs, LineError{Pos: header[0].pos, Text: fmt.Sprintf("found no column %q; want the columns rpm and threshold_v", f.name)})
		}
	}
	return columns, append(errs, repeated(columns)...)
}

// tableRow turns one line into a row.
func (l lines) tableRow(cells []cell) (TableRow, Errors) {
	r, errs := l.row(cells)
	if errs != nil {
		return TableRow{}, errs
	}
	start := cells[0].pos
	if !r.rpm.Known {
		return TableRow{}, Errors{{Pos: start, Column: "rpm", Text: "the cell is empty; want the engine speed"}}
	}
	if !r.threshold.Known {
		return TableRow{}, Errors{{Pos: start, Column: "threshold_v", Text: "the cell is empty; want a threshold in every row",
			Hint: "a proposed table leaves it empty where noise reaches the weakest tooth, so no threshold is right"}}
	}
	if r.Sensor == "" && l.has("sensor") {
		r.Sensor = captures.Crank
	}
	return TableRow{Pos: captures.Pos{File: start.File, Line: start.Line}, Sensor: r.Sensor, RPM: r.rpm.Value, ThresholdV: r.threshold.Value}, nil
}

// sortRows puts the rows in rising order of speed and finds speeds of a sensor
// that have several.
func sortRows(rows []TableRow) Errors {
	slices.SortStableFunc(rows, func(a, b TableRow) int { return cmp.Compare(a.RPM, b.RPM) })
	type speed struct {
		sensor string
		rpm    float64
	}
	var errs Errors
	first := map[speed]captures.Pos{}
	for _, row := range rows {
		key := speed{row.Sensor, row.RPM}
		if pos, found := first[key]; found {
			errs = append(errs, LineError{Pos: row.Pos, Column: "rpm",
				Text: fmt.Sprintf("found %g rpm again, first in %s; want one row for each speed", row.RPM, pos)})
			continue
		}
		first[key] = row.Pos
	}
	return errs
}
