package csvfile

import (
	"fmt"
	"math"
)

// ticker follows the column of time from block to block and finds where rows
// are missing.
type ticker struct {
	beat
	tickS    float64
	counts   bool // there is a column to follow
	begun    bool
	first    int64   // the first time
	last     int64   // the time of the row before
	expected float64 // the next row's time
	rows     int64   // so far, with those missing
	breaks   int64   // rows not a step behind the one before
	spoiled  int64   // rows whose time cannot be right
}

// gap is a place where samples are missing.
type gap struct {
	row, line int // behind the gap, counted from the block's first
	samples   int64
	fromS     float64 // the time of the row before it
}

// timeFault is a row from which on nothing can be told.
type timeFault struct {
	line       int // counted from the block's first
	text, hint string
}

func (f timeFault) Error() string { return f.text }

// allowed are the ticks from row to row that need no closer look: half a step
// to one and a half, and what rounding adds.
func (b beat) allowed() (low, span uint64) {
	from := max(0, math.Ceil(b.ticks/2-b.rounding))
	to := max(from, math.Floor(1.5*b.ticks+b.rounding))
	return uint64(from), uint64(to - from)
}

// gaps finds the gaps in a block.
func (t *ticker) gaps(rows *parsedRows) (gaps []gap, err error) {
	if !t.counts || rows.rows == 0 {
		return nil, nil
	}
	if rows.timed() {
		gaps, err = t.look(rows)
	}
	t.expected += float64(rows.rows) * t.ticks
	t.rows += int64(rows.rows)
	if err == nil && t.breaks*20 > t.rows+20 {
		err = timeFault{text: fmt.Sprintf("found %d of %d times that are not a step behind the one before; want a fixed step", t.breaks, t.rows),
			hint: evenHint}
	}
	return gaps, err
}

// look judges every jump by where the row should be, not by the row before it:
// rounded times jump, but do not stray.
func (t *ticker) look(rows *parsedRows) (gaps []gap, err error) {
	jumps := t.withBoundary(rows)
	last := rows.last
	for i := 0; i < len(jumps); i++ {
		jump := jumps[i]
		switch off := t.off(jump); {
		case i+1 < len(jumps) && jumps[i+1].row == jump.row+1 && math.Abs(t.off(jumps[i+1])) <= t.tolerance():
			t.spoiled++
			i++
		case jump.row == rows.rows-1 && jump.row > 0 && math.Abs(off) > t.tolerance():
			t.spoiled++ // or a gap: then the next block shows it
			last = int64(t.expected + float64(jump.row)*t.ticks)
		case jump.to < jump.from:
			return gaps, t.backwards(jump)
		case off > t.tolerance() && !t.waited(jump, off):
			g, err := t.gap(jump, off)
			if err != nil {
				return gaps, err
			}
			gaps = append(gaps, g)
		default:
			t.breaks += int64(one(off < -t.tolerance()))
		}
	}
	t.follow(rows, last)
	return gaps, nil
}

// withBoundary puts the step from the block before in front of the jumps.
func (t *ticker) withBoundary(rows *parsedRows) []timeJump {
	if !t.begun {
		t.begun, t.first, t.last, t.expected = true, rows.first, rows.first, float64(rows.first)
		return rows.jumps
	}
	if low, span := t.allowed(); uint64(rows.first)-uint64(t.last)-low > span {
		return append([]timeJump{{from: t.last, to: rows.first}}, rows.jumps...)
	}
	return rows.jumps
}

// off is how far a row's time is behind where it should be, in ticks.
func (t *ticker) off(jump timeJump) float64 {
	return float64(jump.to) - t.expected - float64(jump.row)*t.ticks
}

func (t *ticker) tolerance() float64 { return t.ticks/2 + t.rounding }

// gap is the gap that a time ahead of its place tells of.
func (t *ticker) gap(jump timeJump, off float64) (gap, error) {
	const longest = 20_000_000
	samples := math.Round(off / t.ticks)
	if samples > longest {
		return gap{}, timeFault{line: jump.line,
			text: fmt.Sprintf("time jumps from %.9g s to %.9g s; want one recording without a break", t.seconds(jump.from), t.seconds(jump.to)),
			hint: "cut the file there"}
	}
	t.breaks++
	t.expected += samples * t.ticks
	t.rows += int64(samples)
	return gap{row: jump.row, line: jump.line, samples: int64(samples), fromS: t.seconds(jump.from)}, nil
}

func (t *ticker) backwards(jump timeJump) error {
	return timeFault{line: jump.line,
		text: fmt.Sprintf("time runs back from %.9g s to %.9g s; want one recording, not segments one after the other", t.seconds(jump.from), t.seconds(jump.to)),
		hint: "cut the file there, one file for each segment"}
}

func (t *ticker) seconds(ticks int64) float64 { return float64(ticks) * t.tickS }

// waited tells that the time before a jump lagged as the one behind it leads:
// times are rounded more coarsely from here on.
func (t *ticker) waited(jump timeJump, off float64) bool {
	before := t.off(timeJump{row: jump.row - 1, to: jump.from})
	return before < -off/2
}

// follow lets the expectation drift with a step that is not known exactly.
func (t *ticker) follow(rows *parsedRows, last int64) {
	const part = 0.25
	off := float64(last) - t.expected - float64(rows.rows-1)*t.ticks
	t.expected += part * max(-t.tolerance(), min(off, t.tolerance()))
	t.last = last
}

// strayed compares the whole time with the rows: the relative error of the
// step, as far as it is not rounding.
func (t *ticker) strayed() float64 {
	span := float64(t.last - t.first)
	off := math.Abs(span - float64(t.rows-1)*t.ticks)
	if span <= 0 || off <= 2*t.ticks+t.rounding+commonRounding([]int64{t.last}) {
		return 0
	}
	return off / span
}
