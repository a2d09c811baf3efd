package captures

import (
	"fmt"
	"strconv"
)

// Pos is the place in the input that a value came from. Line and Column count
// from 1, Column in bytes; 0 means that there is none to name.
type Pos struct {
	File         string
	Line, Column int
	// AtS is the file's own time in seconds, for a reading that was measured
	// from a wave and so has no line.
	AtS Maybe
}

// String gives "run.csv:41", "run.csv:41:7" or "pull.csv at 3.42 s".
func (p Pos) String() string {
	switch {
	case p.AtS.Known:
		return p.File + " at " + strconv.FormatFloat(p.AtS.Value, 'f', 2, 64) + " s"
	case p.Line == 0:
		return p.File
	case p.Column == 0:
		return fmt.Sprintf("%s:%d", p.File, p.Line)
	}
	return fmt.Sprintf("%s:%d:%d", p.File, p.Line, p.Column)
}

// Less orders positions by file, then line, then column, then time.
func (p Pos) Less(q Pos) bool {
	switch {
	case p.File != q.File:
		return p.File < q.File
	case p.Line != q.Line:
		return p.Line < q.Line
	case p.Column != q.Column:
		return p.Column < q.Column
	}
	return p.AtS.Or(0) < q.AtS.Or(0)
}
