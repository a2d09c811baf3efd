package csvfile

import (
	"fmt"
	"slices"
	"strings"

	"armcurve/captures"
)

// LineError is one thing wrong in a file of readings or a table.
type LineError struct {
	// Pos is the place: the cell's first byte, or the line's. Columns count
	// bytes of the text as UTF-8 without its byte order mark.
	Pos captures.Pos
	// Column is the name in the header; empty where the whole line is meant.
	Column string
	// Text says what was found and what is wanted.
	Text string
	// Hint says what to do about it; may be empty.
	Hint string
}

// Error gives "run.csv:41: column "peak_v": found "1,9"; want a number with a
// decimal point". The column's name says where on the line.
func (e LineError) Error() string {
	pos := e.Pos
	pos.Column = 0
	if e.Column == "" {
		return fmt.Sprintf("%s: %s", pos, e.Text)
	}
	return fmt.Sprintf("%s: column %q: %s", pos, e.Column, e.Text)
}

// Errors is everything wrong in one file, in the order of the file; never
// empty where it is returned as an error.
type Errors []LineError

// errorsShown is how many errors Error prints.
const errorsShown = 10

// Error prints up to ten errors, one a line, then the number of the others,
// then what to do about those shown.
func (e Errors) Error() string {
	shown := e[:min(len(e), errorsShown)]
	var lines, hints []string
	for _, line := range shown {
		lines = append(lines, line.Error())
		if hint := "hint: " + line.Hint; line.Hint != "" && !slices.Contains(hints, hint) {
			hints = append(hints, hint)
		}
	}
	if more := len(e) - len(shown); more > 0 {
		lines = append(lines, fmt.Sprintf("… and %d more", more))
	}
	return strings.Join(append(lines, hints...), "\n")
}

// orNil returns the errors in the order of the file, nil if there are none.
func (e Errors) orNil() error {
	if len(e) == 0 {
		return nil
	}
	slices.SortStableFunc(e, func(a, b LineError) int {
		switch {
		case a.Pos.Less(b.Pos):
			return -1
		case b.Pos.Less(a.Pos):
			return 1
		}
		return 0
	})
	return e
}
