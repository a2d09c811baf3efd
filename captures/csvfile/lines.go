package csvfile

import (
	"errors"
	"fmt"
	"io"
	"slices"
	"strings"

	"armcurve/captures"
)

// lines is a file whose columns are known, and how to read its numbers.
type lines struct {
	columns   []column
	rows      [][]cell
	delimiter rune
	decimal   rune
	// marksKnown tells that a mark in a number can only be the decimal one.
	marksKnown bool
}

// readLines reads a file with the given fields; layout finds its columns. The
// lines are what can still be read where there are errors.
func readLines(r io.Reader, name string, dialect Dialect, fields []field, layout func([]cell) ([]column, Errors)) (lines, Errors) {
	s, errs := readSheet(r, name, dialect.Delimiter, func(name string) bool {
		f, _ := findField(fields, name)
		return f != nil
	})
	if s.header == nil {
		return lines{}, errs
	}
	if isNumbers(s.header) {
		return lines{}, Errors{{Pos: s.header[0].pos, Text: "found numbers in the first line; want the names of the columns there, such as rpm,peak_v"}}
	}
	columns, headErrs := layout(s.header)
	if headErrs != nil {
		return lines{}, append(headErrs, errs...)
	}
	if len(s.rows) == 0 && errs == nil {
		return lines{}, Errors{{Pos: s.header[0].pos, Text: "found no line below the header; want at least one",
			Hint: "fill in a line for each speed"}}
	}
	l := lines{columns: columns, rows: s.rows, delimiter: s.delimiter, decimal: dialect.Decimal}
	l.marksKnown = l.delimiter == ',' || l.decimal != 0
	if l.decimal == 0 {
		l.decimal = decimalOf(l.delimiter, l.numbers())
	}
	return l, errs
}

// isNumbers tells a first line that holds numbers where the names of the
// columns should be.
func isNumbers(header []cell) bool {
	return !slices.ContainsFunc(header, func(c cell) bool {
		rest, ok := cutNumber(c.text)
		return !ok || strings.Trim(rest, ",.0123456789") != ""
	})
}

// numbers gives the cells of all columns of numbers.
func (l lines) numbers() []cell {
	var numbers []cell
	for _, cells := range l.rows {
		for i, c := range cells {
			if i < len(l.columns) && l.columns[i].isNumber() {
				numbers = append(numbers, c)
			}
		}
	}
	return numbers
}

// row reads the cells of one line.
func (l lines) row(cells []cell) (row, Errors) {
	if len(cells) > len(l.columns) {
		return row{}, Errors{tooManyCells(cells, len(l.columns))}
	}
	var r row
	var errs Errors
	for i, c := range cells {
		if err := l.read(&r, l.columns[i], c); err != nil {
			errs = append(errs, *err)
		}
	}
	return r, errs
}

func tooManyCells(cells []cell, want int) LineError {
	return LineError{Pos: cells[want].pos,
		Text: fmt.Sprintf("found %d cells; want %d, as in the header", len(cells), want),
		Hint: "numbers with decimal commas need columns separated by semicolons, and texts with commas need quotes around them"}
}

// read puts one cell into its field; an empty one leaves it unknown.
func (l lines) read(r *row, c column, from cell) *LineError {
	if c.field == nil || from.text == "" {
		return nil
	}
	var want, hint string
	if c.field.setText != nil {
		want = c.field.setText(r, from.text)
	} else {
		var value float64
		value, want, hint = l.number(c, from.text)
		*c.field.number(r) = captures.Some(value)
	}
	if want == "" {
		return nil
	}
	return &LineError{Pos: from.pos, Column: c.text, Text: "found " + shown(from.text) + "; " + want, Hint: hint}
}

func (l lines) number(c column, text string) (value float64, want, hint string) {
	if c.field.name == "rpm" && !l.marksKnown && groupedThousands(text) {
		return 0, "want an engine speed in rpm without a mark between thousands", ""
	}
	value, err := parseNumber(text, l.decimal)
	switch {
	case (errors.Is(err, errNoNumber) || errors.Is(err, errNotFinite)) && !c.field.required:
		return 0, err.Error() + ", or an empty cell where it was not measured", ""
	case err != nil:
		return 0, err.Error(), ""
	}
	value /= c.divisor
	want, hint = c.field.limit(value)
	return value, want, hint
}

// readAs says in a few words how the file was read.
func (l lines) readAs(kind, line string) string {
	words := []string{kind + ", " + counted(len(l.rows), line)}
	if l.delimiter != ',' {
		words = append(words, "columns separated by "+delimiterName(l.delimiter))
	}
	if l.decimal == ',' {
		words = append(words, "decimal comma")
	}
	for _, c := range l.columns {
		if c.field != nil && c.field.peak && c.field.quantity != captures.Peak {
			words = append(words, c.text+" "+c.field.conversion)
		}
	}
	if names := l.millivolts(); names != nil {
		words = append(words, "millivolts in "+strings.Join(names, ", "))
	}
	return strings.Join(words, ", ")
}

// millivolts are the columns that were divided by a thousand.
func (l lines) millivolts() []string {
	var names []string
	for _, c := range l.columns {
		if c.field != nil && c.divisor == 1000 {
			names = append(names, c.text)
		}
	}
	return names
}

func (l lines) has(name string) bool {
	return slices.ContainsFunc(l.columns, func(c column) bool { return c.field != nil && c.field.name == name })
}

func counted(n int, thing string) string {
	if n == 1 {
		return "1 " + thing
	}
	return fmt.Sprintf("%d %ss", n, thing)
}
