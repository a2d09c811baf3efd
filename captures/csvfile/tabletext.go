package csvfile

import (
	"fmt"
	"strings"

	"armcurve/captures"
)

// ParseTable reads a table typed out as "0=0.2,500=0.6,3000=3.2", rpm before
// and volts after each equals sign, in any order. The name says where it was
// typed, for messages. The error is of type Errors and holds every bad row.
func ParseTable(text, name string) (TableFile, error) {
	var rows []TableRow
	var errs Errors
	column := 1
	for part := range strings.SplitSeq(text, ",") {
		row, err := parseTableRow(strings.TrimSpace(part))
		row.Pos = captures.Pos{File: fmt.Sprintf("%s %s", name, strings.TrimSpace(part))}
		if err != nil {
			err.Pos = captures.Pos{File: name, Column: column}
			errs = append(errs, *err)
		}
		rows = append(rows, row)
		column += len(part) + 1
	}
	if len(errs) == 0 {
		errs = sortRows(rows)
	}
	if len(errs) > 0 {
		return TableFile{}, errs.orNil()
	}
	return TableFile{Rows: rows, ReadAs: "table typed out, " + counted(len(rows), "row")}, nil
}

func parseTableRow(part string) (TableRow, *LineError) {
	rpmText, voltsText, found := strings.Cut(part, "=")
	if !found {
		return TableRow{}, &LineError{Text: "found " + shown(part) + "; want rpm=volts, such as 500=0.6, rows separated by commas"}
	}
	rpm, err := parseTyped(strings.TrimSpace(rpmText), part, speed)
	if err != nil {
		return TableRow{}, err
	}
	threshold, err := parseTyped(strings.TrimSpace(voltsText), part, typedVolts)
	return TableRow{RPM: rpm, ThresholdV: threshold}, err
}

// typedVolts judges a threshold that is not in a column, so that no advice on
// columns helps.
func typedVolts(v float64) (want, hint string) {
	want, hint = thresholdVolts(v)
	if v > maxVolts {
		hint = ""
	}
	return want, hint
}

// parseTyped reads one number of a typed row.
func parseTyped(text, part string, limit limit) (float64, *LineError) {
	value, err := parseNumber(text, '.')
	want, hint := "", ""
	if err != nil {
		want = err.Error()
	} else {
		want, hint = limit(value)
	}
	if want != "" {
		return 0, &LineError{Text: fmt.Sprintf("found %s in %s; %s", shown(text), shown(part), want), Hint: hint}
	}
	return value, nil
}
