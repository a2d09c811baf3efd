package csvfile

import (
	"bytes"
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"strings"

	"armcurve/captures"
)

// Dialect says how a file separates its columns and writes its numbers. What
// is 0 is read from the file.
type Dialect struct {
	Delimiter rune // ',', ';' or '\t'
	Decimal   rune // '.' or ','
}

// cell is one cell with the spaces around it taken off.
type cell struct {
	pos  captures.Pos
	text string
}

// sheet is a file cut into cells: a header and the rows below it that have any
// text.
type sheet struct {
	delimiter rune
	header    []cell
	rows      [][]cell
}

// maxSheetBytes bounds what is still a list of readings and not a capture.
const maxSheetBytes = 16 << 20

// readSheet cuts a file into cells. The delimiter is the one that finds the
// most known names in the header. What was read before an error is returned
// with it.
func readSheet(r io.Reader, file string, delimiter rune, known func(name string) bool) (sheet, Errors) {
	top := captures.Pos{File: file, Line: 1, Column: 1}
	text, err := readText(r)
	if err != nil {
		return sheet{}, Errors{{Pos: top, Text: err.Error()}}
	}
	if delimiter == 0 {
		delimiter = sniffDelimiter(headerLine(text), known)
	}
	s := sheet{delimiter: delimiter}
	errs := s.cut(text, file)
	if s.header == nil && errs == nil {
		errs = Errors{{Pos: top, Text: "found no text; want a first line with the names of the columns"}}
	}
	return s, errs
}

func readText(r io.Reader) ([]byte, error) {
	raw, err := io.ReadAll(io.LimitReader(r, maxSheetBytes+1))
	if err != nil {
		return nil, err
	}
	if len(raw) > maxSheetBytes {
		return nil, fmt.Errorf("found more than %d MB; want a list of a few lines", maxSheetBytes>>20)
	}
	return plainText(raw)
}

// headerLine is the first line that holds text and is not a comment.
func headerLine(text []byte) string {
	for line := range bytes.Lines(text) {
		line = bytes.TrimSpace(line)
		if !isComment(string(line)) && len(bytes.Trim(line, ",;")) > 0 {
			return string(line)
		}
	}
	return ""
}

// isComment tells a comment, also one that a spreadsheet put in quotes.
func isComment(line string) bool {
	return strings.HasPrefix(strings.TrimLeft(line, `"`), "#")
}

func sniffDelimiter(header string, known func(string) bool) rune {
	best, bestScore := ',', -1
	for _, delimiter := range []rune{',', ';', '\t'} {
		names := strings.Split(header, string(delimiter))
		score := len(names) - 1
		for _, name := range names {
			if known(columnName(name)) {
				score += 1000
			}
		}
		if score > bestScore {
			best, bestScore = delimiter, score
		}
	}
	return best
}

// columnName is a header cell as columns are named.
func columnName(text string) string {
	return strings.ToLower(strings.Trim(strings.TrimSpace(text), `"`))
}

// cut fills header and rows.
func (s *sheet) cut(text []byte, file string) Errors {
	reader := csv.NewReader(bytes.NewReader(text))
	reader.Comma = s.delimiter
	reader.Comment = '#'
	reader.FieldsPerRecord = -1
	reader.TrimLeadingSpace = s.delimiter != '\t'
	for {
		record, err := reader.Read()
		if errors.Is(err, io.EOF) {
			return nil
		}
		if err != nil {
			return Errors{quoteError(err, file)}
		}
		cells := make([]cell, len(record))
		for i, text := range record {
			line, column := reader.FieldPos(i)
			cells[i] = cell{captures.Pos{File: file, Line: line, Column: column}, strings.TrimSpace(text)}
		}
		s.add(cells)
	}
}

func (s *sheet) add(cells []cell) {
	cells = withoutEmptyEnd(cells)
	switch {
	case len(cells) == 0 || isComment(cells[0].text):
	case s.header == nil:
		s.header = cells
	default:
		s.rows = append(s.rows, cells)
	}
}

// withoutEmptyEnd takes off the empty cells that spreadsheets add.
func withoutEmptyEnd(cells []cell) []cell {
	for len(cells) > 0 && cells[len(cells)-1].text == "" {
		cells = cells[:len(cells)-1]
	}
	return cells
}

// quoteError words an error of encoding/csv, after which the rest of the file
// cannot be trusted.
func quoteError(err error, file string) LineError {
	var parse *csv.ParseError
	if !errors.As(err, &parse) {
		return LineError{Pos: captures.Pos{File: file, Line: 1, Column: 1}, Text: err.Error()}
	}
	text := "found a quote that is not closed, or text after a closing quote; want a whole cell in quotes"
	if errors.Is(err, csv.ErrBareQuote) {
		text = "found a quote inside a cell; want the whole cell in quotes, quotes inside it doubled"
	}
	return LineError{Pos: captures.Pos{File: file, Line: parse.Line, Column: parse.Column}, Text: text}
}

// delimiterName is how a delimiter is spoken of.
func delimiterName(delimiter rune) string {
	switch delimiter {
	case ',':
		return "comma"
	case ';':
		return "semicolon"
	case '\t':
		return "tab"
	}
	return string(delimiter)
}
