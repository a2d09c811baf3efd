package csvfile

import "math"

// parsedRows are the samples of one block of text.
type parsedRows struct {
	volts [][]float64 // by channel
	rows  int
	room  int // for rows in volts
	// first and last are the times of the first and the last row in ticks;
	// not known if no row has a time.
	first, last int64
	jumps       []timeJump
	remarks     rowRemarks
}

// timeJump is a row whose time is not a step behind that of the row before.
type timeJump struct {
	row, line int // counted from the block's first, from 0
	from, to  int64
}

// rowRemarks counts what was unusual in the lines of one block.
type rowRemarks struct {
	lines               int
	odd                 int // lines that could not be read, or not all of them
	firstOdd            oddCell
	empty, above, below int // cells
	cutShort            bool
}

// oddCell is one that could not be read. Line, cell and column, which is the
// place of its first byte in the line, count from 0.
type oddCell struct {
	line, cell, column int
	text               string // empty where the cell is missing
}

// noTime stands before the first time of a block; no step leads from it.
const noTime = math.MinInt64

func (o *parsedRows) timed() bool { return o.last != noTime }

// begin empties the block for new rows.
func (o *parsedRows) begin(cells []cellPlan) {
	o.rows, o.last, o.jumps, o.remarks = 0, noTime, o.jumps[:0], rowRemarks{}
	for i := range cells {
		if cells[i].role == voltsCell {
			channel := cells[i].channel
			o.volts[channel] = o.volts[channel][:cap(o.volts[channel])]
			cells[i].values = o.volts[channel]
			o.room = len(o.volts[channel])
		}
	}
	for _, values := range o.volts {
		o.room = min(o.room, len(values))
	}
}

// makeRoom makes room for one more row.
func (o *parsedRows) makeRoom(cells []cellPlan) {
	if o.rows < o.room {
		return
	}
	const fewest = 1024
	o.room = max(fewest, 2*o.rows)
	for i := range cells {
		if cells[i].role == voltsCell {
			grown := make([]float64, o.room)
			copy(grown, cells[i].values)
			cells[i].values = grown
			o.volts[cells[i].channel] = grown
		}
	}
}

// jump notes a row whose time is not a step behind the one before it. The
// first time of a block has none before it.
func (o *parsedRows) jump(to, step int64) {
	if !o.timed() {
		o.first = to - int64(o.rows)*step
		return
	}
	o.jumps = append(o.jumps, timeJump{row: o.rows, line: o.remarks.lines, from: o.last, to: to})
}

// finish cuts the samples to the rows read and scales them.
func (o *parsedRows) finish(factor float64) {
	for c := range o.volts {
		o.volts[c] = o.volts[c][:o.rows]
		if factor != 1 {
			for i := range o.volts[c] {
				o.volts[c][i] *= factor
			}
		}
	}
}
