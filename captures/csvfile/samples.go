package csvfile

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"math"

	"armcurve/captures"
)

// samples is a recording as a source of blocks.
type samples struct {
	file      string
	form      string   // how the text is written
	unitWords []string // of the channels, for the echo
	layout    *layout
	timing    *timing
	plan      *rowPlan
	text      io.Reader // from the first row on
	reader    *blockReader
	ticker    ticker
	tally     tally

	current   *textBlock // being given away, or nil
	given     int        // its rows that were
	end       int        // its rows before the empty ones at its end
	gaps      []gap      // in front of its rows that were not given yet
	fill      int64      // empty samples to give before its next row
	trailing  int64      // empty rows that count only if others follow
	next      int64      // index of the next sample
	firstLine int        // of the block after current, from 0
	err       error
}

// OpenSamples opens a recording in any of the shapes that oscilloscopes and
// loggers write, and finds out how it is to be read. The name is that of the
// file, for messages. r is read from front to back; where it can be wound
// back, its end may be looked at first. r stays the caller's to close.
//
// The error is of type Errors where the file is to blame, here and from the
// source's Next. It says what was found, and which option decides what the
// file leaves open.
func OpenSamples(r io.Reader, name string, o SamplesOptions) (captures.Source, error) {
	text, err := openText(r, name)
	if err != nil {
		return nil, err
	}
	grid, err := readGrid(text, name, o.Dialect)
	if err != nil {
		return nil, err
	}
	layout, err := readLayout(grid, o)
	if err != nil {
		return nil, err
	}
	s := &samples{file: name, form: text.form, layout: layout, firstLine: grid.first}
	if s.timing, err = layout.readTiming(o, text); err != nil {
		return nil, err
	}
	if s.plan, err = s.planRows(o); err != nil {
		return nil, err
	}
	if len(grid.rows) < 2 {
		return nil, layout.timeProblem(layout.chosen[0], 0, errOneSample)
	}
	s.ticker = ticker{beat: s.timing.beat, tickS: s.timing.tickS, counts: s.timing.column >= 0}
	s.text = io.MultiReader(bytes.NewReader(text.head[grid.offset():]), text.rest)
	grid.forget()
	if s.timing.pairs {
		return &envelope{samples: s}, nil
	}
	return s, nil
}

// forget gives up the rows of the head, which are read again with the others.
func (g *grid) forget() { g.lines, g.rows, g.rowLines = nil, nil, nil }

// offset is where the first row starts in the head.
func (g *grid) offset() int {
	offset := 0
	for _, line := range g.lines[:g.first] {
		offset += len(line) + 1
	}
	return offset
}

// planRows says what to make of each column.
func (s *samples) planRows(o SamplesOptions) (*rowPlan, error) {
	l, t := s.layout, s.timing
	plan := &rowPlan{delim: l.delim, point: l.point, width: l.width, factor: o.times(), keepRows: t.pairs}
	last := t.column
	for _, c := range l.chosen {
		last = max(last, c)
	}
	for range last + 1 {
		plan.columns = append(plan.columns, cellPlan{role: passedOver})
	}
	for channel, c := range l.chosen {
		exp, doubts, err := l.readVolts(c, o)
		if err != nil {
			return nil, err
		}
		t.doubts = append(t.doubts, doubts...)
		plan.columns[c] = cellPlan{role: voltsCell, channel: channel, exp: exp, end: l.endOf(c)}
		s.unitWords = append(s.unitWords, l.unitWords(c, o))
	}
	if t.column >= 0 {
		plan.columns[t.column] = cellPlan{role: timeCell, exp: t.decimals, end: l.endOf(t.column)}
		plan.timed = true
		plan.low, plan.span = t.beat.allowed()
		plan.step = int64(math.Round(t.beat.ticks))
		plan.wholeStep = !t.pairs && math.Abs(t.beat.ticks-float64(plan.step)) < 0.01
	}
	return plan, nil
}

// endOf is the byte behind a column's cells.
func (g *grid) endOf(c int) byte {
	switch {
	case c < g.width-1:
		return g.delim
	case bytes.HasSuffix(g.lines[g.first], []byte{'\r'}):
		return '\r'
	}
	return '\n'
}

// Info implements captures.Source.
func (s *samples) Info() captures.WaveInfo {
	info := captures.WaveInfo{File: s.file, StartS: s.timing.startS, StepS: s.timing.stepS, ReadAs: s.readAs()}
	for _, c := range s.layout.chosen {
		info.Channels = append(info.Channels, captures.Channel{Name: s.layout.channelName(c), Unit: s.layout.units[c]})
	}
	return info
}

// Next implements captures.Source.
func (s *samples) Next(b *captures.Block) error {
	b.First = s.next
	for s.err == nil {
		if s.current == nil {
			s.err = s.advance()
			continue
		}
		switch {
		case s.fill > 0:
			s.giveNothing(b)
		case s.given == s.end:
			s.drop()
			continue
		default:
			s.give(b)
		}
		s.next += int64(b.Len())
		return nil
	}
	empty(b, len(s.layout.chosen))
	return s.err
}

// empty makes a block with no samples.
func empty(b *captures.Block, channels int) {
	for len(b.V) < channels {
		b.V = append(b.V, nil)
	}
	b.V = b.V[:channels]
	for c := range b.V {
		b.V[c] = b.V[c][:0]
	}
}

// advance takes the next block and looks at its times.
func (s *samples) advance() error {
	if s.reader == nil {
		s.reader = readBlocks(s.text, s.plan, len(s.layout.chosen))
	}
	block, err := s.reader.next()
	if err != nil {
		return s.ending(err)
	}
	rows := &block.rows
	s.tally.add(rows, s.firstLine)
	if s.gaps, err = s.ticker.gaps(rows); err != nil {
		return s.faultAt(err)
	}
	s.current, s.given, s.end = block, 0, fullRows(rows)
	if s.end > 0 {
		s.fill, s.trailing = s.fill+s.trailing, 0
	}
	s.trailing += int64(rows.rows - s.end)
	for _, g := range s.gaps {
		s.tally.gap(g, s.firstLine+g.line)
		if g.row >= s.end {
			s.trailing += g.samples
		}
	}
	s.firstLine += rows.remarks.lines
	s.takeGap()
	return nil
}

// fullRows counts the rows before those at the end that are all empty.
func fullRows(rows *parsedRows) int {
	for n := rows.rows; n > 0; n-- {
		for _, values := range rows.volts {
			if !math.IsNaN(values[n-1]) {
				return n
			}
		}
	}
	return 0
}

// takeGap adds the gap in front of the next row to what is to be filled.
func (s *samples) takeGap() {
	if len(s.gaps) > 0 && s.gaps[0].row == s.given && s.given < s.end {
		s.fill += s.gaps[0].samples
		s.gaps = s.gaps[1:]
	}
}

// give gives the rows up to the next gap; all of a block at once without
// copying.
func (s *samples) give(b *captures.Block) {
	empty(b, len(s.layout.chosen))
	end := s.end
	if len(s.gaps) > 0 && s.gaps[0].row < end {
		end = s.gaps[0].row
	}
	rows := &s.current.rows
	for c := range b.V {
		if s.given == 0 && end == s.end {
			b.V[c], rows.volts[c] = rows.volts[c][:end], b.V[c]
		} else {
			b.V[c] = append(b.V[c], rows.volts[c][s.given:end]...)
		}
	}
	s.given = end
	s.takeGap()
}

// giveNothing gives samples that the file does not have.
func (s *samples) giveNothing(b *captures.Block) {
	const most = 8192
	empty(b, len(s.layout.chosen))
	n := min(s.fill, most)
	for c := range b.V {
		for range n {
			b.V[c] = append(b.V[c], math.NaN())
		}
	}
	s.fill -= n
}

// drop gives the block back to be filled again.
func (s *samples) drop() {
	s.reader.free <- s.current
	s.current = nil
}

// faultAt gives a fault of the times its place in the file.
func (s *samples) faultAt(err error) error {
	var fault timeFault
	if errors.As(err, &fault) {
		return problem(s.layout.at(s.firstLine+fault.line), fault.hint, "%s", fault.text)
	}
	return err
}

// ending checks the whole wave behind its last row.
func (s *samples) ending(err error) error {
	pos := s.layout.at(s.firstLine)
	switch {
	case errors.Is(err, errLongLine):
		return problem(pos, "", "%v", err)
	case !errors.Is(err, io.EOF):
		return fmt.Errorf("%s: cannot read on: %w", pos, err)
	}
	s.tally.whole = true
	s.tally.empty -= s.trailing * int64(len(s.layout.chosen))
	s.tally.spoiled, s.tally.strayed = s.ticker.spoiled, s.ticker.strayed()
	if err := s.tally.tooOdd(s.layout); err != nil {
		return err
	}
	return io.EOF
}

// Findings implements captures.Source.
func (s *samples) Findings() []captures.Finding {
	return append(s.timing.doubts[:len(s.timing.doubts):len(s.timing.doubts)], s.tally.findings(s.layout)...)
}

// Close implements captures.Source.
func (s *samples) Close() error {
	if s.reader != nil {
		s.reader.halt()
	}
	if s.err == nil {
		s.err = errors.New(s.file + ": closed")
	}
	return nil
}
