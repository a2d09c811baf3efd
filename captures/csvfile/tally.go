package csvfile

import (
	"fmt"
	"strings"

	"armcurve/captures"
)

// tally counts what was remarkable about a file, line by line.
type tally struct {
	lines               int64
	rows                int64
	odd                 int64
	firstOdd            oddCell // its line counted from the file's first
	empty, above, below int64   // cells
	spoiled             int64   // times
	cutShort            bool
	gaps, missing       int64 // gaps and the samples in them
	firstGap            gap
	strayed             float64
	whole               bool // the end was reached
}

// add counts a block; firstLine is its first line in the file, from 0.
func (t *tally) add(rows *parsedRows, firstLine int) {
	r := &rows.remarks
	if t.odd == 0 && r.odd > 0 {
		t.firstOdd = r.firstOdd
		t.firstOdd.line += firstLine
	}
	t.lines += int64(r.lines)
	t.rows += int64(rows.rows)
	t.odd += int64(r.odd)
	t.empty += int64(r.empty)
	t.above += int64(r.above)
	t.below += int64(r.below)
	t.cutShort = t.cutShort || r.cutShort
}

// gap counts a gap; line is where it is in the file, from 0.
func (t *tally) gap(g gap, line int) {
	if t.gaps == 0 {
		t.firstGap = g
		t.firstGap.line = line
	}
	t.gaps++
	t.missing += g.samples
}

// mostOdd is the part of the lines that may be odd.
const mostOdd = 0.01

// tooOdd refuses a file with too many lines that could not be read.
func (t *tally) tooOdd(l *layout) error {
	odd := t.odd + t.spoiled
	if float64(odd) <= mostOdd*float64(t.lines) {
		return nil
	}
	if t.odd == 0 {
		return problem(captures.Pos{File: l.file}, evenHint, "found %d of %d times that do not follow the one before; want at most 1 %%", odd, t.lines)
	}
	pos := l.at(t.firstOdd.line)
	pos.Column = t.firstOdd.column + 1
	return Errors{{Pos: pos, Column: l.channelName(t.firstOdd.cell),
		Text: fmt.Sprintf("found %s, the first of %d of %d lines that are no rows of numbers; want at most 1 %%", t.oddText(), odd, t.lines),
		Hint: "export the recording again, a number in every cell and nothing but rows below the heading"}}
}

func (t *tally) oddText() string {
	if t.firstOdd.text == "" {
		return "no such cell"
	}
	return shown(t.firstOdd.text)
}

// findings words what was counted.
func (t *tally) findings(l *layout) []captures.Finding {
	var list []captures.Finding
	add := func(kind string, severity captures.Severity, advice, format string, args ...any) {
		list = append(list, captures.Finding{Kind: kind, Severity: severity, Advice: advice, Text: fmt.Sprintf(format, args...)})
	}
	if t.odd > 0 {
		add("bad-cells", captures.Warning, "", "%s: %d of %d lines could not be read in full, the first found %s", l.at(t.firstOdd.line), t.odd, t.lines, t.oddText())
	}
	if t.spoiled > 0 {
		add("bad-cells", captures.Warning, "", "%s: %d times did not follow the one before and were not believed", l.file, t.spoiled)
	}
	if t.empty > 0 {
		add("bad-cells", captures.Note, "", "%s: %d cells are empty or stand for no number", l.file, t.empty)
	}
	if t.cutShort {
		add("cut-short", captures.Note, "", "%s: the last line was cut short and is left out", l.file)
	}
	if n := t.above + t.below; n > 0 {
		add("clipped", captures.Warning, "record with a larger voltage range", "%s: %d samples are marked as out of the instrument's range, %d above and %d below", l.file, n, t.above, t.below)
	}
	if t.gaps > 0 {
		add("dropout", captures.Warning, "", "%s: %d samples are missing in %d gaps of the time, the first behind %.6g s", l.at(t.firstGap.line), t.missing, t.gaps, t.firstGap.fromS)
	}
	if t.strayed > 1e-4 {
		add("uneven-steps", captures.Warning, "give --sample-interval", "%s: the column of time runs %.2g %% off the step it began with, and so do all speeds", l.file, 100*t.strayed)
	}
	return list
}

// readAs says how the file is read.
func (s *samples) readAs() string {
	l := s.layout
	words := []string{"recording in " + s.form}
	if l.flat {
		words = append(words, "one line of samples")
	} else if l.width > 1 {
		words = append(words, "columns separated by "+orSpaces(delimiterName(rune(l.delim))))
	}
	if l.point == ',' {
		words = append(words, "decimal comma")
	}
	if l.first > 0 {
		words = append(words, fmt.Sprintf("rows from line %d", l.first+1))
	}
	words = append(words, s.timing.words)
	if s.timing.pairs {
		words = append(words, "two rows for each time, lowest and highest")
	}
	for i, c := range l.chosen {
		words = append(words, fmt.Sprintf("channel %q in %s", l.channelName(c), s.unitWords[i]))
	}
	if f := s.plan.factor; f != 1 {
		words = append(words, fmt.Sprintf("volts times %g", f))
	}
	if s.tally.whole {
		words = append(words, counted(int(s.tally.rows), "row"))
	}
	return strings.Join(words, ", ")
}

func orSpaces(name string) string {
	if name == " " {
		return "spaces"
	}
	return name
}
