package csvfile

import (
	"bytes"
	"slices"
)

// rowPlan says what to make of a row.
type rowPlan struct {
	delim, point byte
	columns      []cellPlan // up to the last one that is wanted
	width        int        // cells in a row
	low, span    uint64     // ticks from row to row: at least low, at most low + span
	timed        bool       // there is a column of time
	step         int64      // ticks that pass with a row that has no time
	wholeStep    bool       // and with every other: nothing is rounded
	factor       float64    // of every sample
	keepRows     bool       // an odd line becomes an empty row, so that rows stay in pairs
}

// cellPlan says what to make of a cell, and remembers what the one above it
// looked like.
type cellPlan struct {
	role    cellRole
	channel int  // of the samples
	exp     int  // the power of ten that turns the number into volts or ticks
	end     byte // that stands behind the cell
	forms   [2]form
	current uint8 // the form of the cell above
	values  []float64
}

type cellRole uint8

const (
	passedOver cellRole = iota
	timeCell
	voltsCell
)

// rowParser turns blocks of rows into samples. It belongs to one goroutine.
type rowParser struct {
	*rowPlan
	cells []cellPlan
	time  int64 // of the row being read
	// expecting tells that the next time should be the expected one.
	expecting bool
	expected  expectation
	scratch   [][]byte
}

func newRowParser(plan *rowPlan) *rowParser {
	cells := slices.Clone(plan.columns)
	for c := range cells {
		cells[c].forms = [2]form{noForm, noForm}
	}
	return &rowParser{rowPlan: plan, cells: cells}
}

// parse reads the rows of text[:end], which are whole lines.
func (p *rowParser) parse(text *blockText, end int, out *parsedRows) {
	for at := 0; at < end; out.remarks.lines++ {
		out.makeRoom(p.cells)
		next := p.likeRow(text, at, out)
		if next == 0 {
			next = p.usualRow(text, at, out)
		}
		if next == 0 {
			next = at + bytes.IndexByte(text[at:end], '\n') + 1
			p.oddRow(text[at:next-1], out)
		}
		at = next
	}
}

// likeRow reads a row that is written like the one above it, and returns where
// the next begins, 0 where it is not.
//
// This is where the time goes. Nothing is compared byte by byte, where a cell
// ends is known before its digits are looked at, and nothing is called.
func (p *rowParser) likeRow(text *blockText, i int, out *parsedRows) (next int) {
	last := i
	for c := range p.cells {
		cell := &p.cells[c]
		last = i
		if cell.role == timeCell && p.expecting {
			e := &p.expected
			if e.seen(text, i) != e.last || !e.fits(text, i) {
				p.expecting = false
				return 0
			}
			e.last = e.next(e.last)
			p.time += p.step
			i += e.form.width
			continue
		}
		if cell.role == passedOver {
			if i = text.cellEnd(i, p.delim); text.at(i) != p.delim {
				return 0
			}
			i++
			continue
		}
		f := cell.like()
		neg := minus(text.at(i))
		i += neg
		digits := f.digits(text.eight(i+f.tail), text.eight(i+f.tail+1))
		mant, bad := joined(digits), notDigits(digits)|f.others(text, i)
		if f.long {
			digits = f.head(text.eight(i), text.eight(i+1))
			mant += joined(digits) * 100000000
			bad |= notDigits(digits)
		}
		if bad != 0 {
			return 0
		}
		i += f.width
		if cell.role == voltsCell {
			cell.values[out.rows] = float64(int64(mant)) / f.divisors[neg&1]
		} else {
			p.time = int64(mant) * f.scales[neg&1]
		}
	}
	if p.timed {
		p.putTime(p.time, out)
	}
	out.rows++
	return text.lineEnd(last)
}

// usualRow reads a row of numbers that may be written otherwise than those
// above it, and returns where the next begins; 0 where it has to be read as an
// odd one.
func (p *rowParser) usualRow(text *blockText, i int, out *parsedRows) (next int) {
	for c := range p.cells {
		cell := &p.cells[c]
		if cell.role == passedOver {
			if i = text.cellEnd(i, p.delim); text.at(i) != p.delim {
				return 0
			}
			i++
			continue
		}
		start := i
		if i = p.alike(cell, text, start, out); i == 0 {
			i = p.number(cell, text, start, out)
		}
		if i == 0 {
			return 0
		}
		if cell.role == timeCell {
			p.expecting = p.wholeStep && p.expected.expect(text, start, cell.like(), p.step)
		}
	}
	if p.timed {
		p.putTime(p.time, out)
	}
	out.rows++
	return text.lineEnd(i - 1)
}

// alike reads a number that has one of the two forms that were met last, and
// returns where the next cell begins, 0 where it has another.
func (p *rowParser) alike(cell *cellPlan, text *blockText, i int, out *parsedRows) (next int) {
	neg := minus(text.at(i))
	mant, ok := cell.like().read(text, i+neg)
	if !ok {
		cell.current ^= 1
		mant, ok = cell.like().read(text, i+neg)
	}
	if !ok {
		cell.current ^= 1
		return 0
	}
	f := cell.like()
	if cell.role == voltsCell {
		cell.values[out.rows] = float64(int64(mant)) / f.divisors[neg&1]
	} else {
		p.time = int64(mant) * f.scales[neg&1]
	}
	return i + neg + f.width
}
