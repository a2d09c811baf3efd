package csvfile

import (
	"bytes"
	"math"
)

// mostVolts is beyond what any sensor gives; a larger number is no voltage.
const mostVolts = 1e9

// number reads a number, also one with spaces around it, a plus, an exponent,
// many digits or none behind the mark, and remembers its form. It returns where
// the next cell begins, 0 where the cell is not a number and nothing else.
func (p *rowParser) number(cell *cellPlan, text *blockText, at int, out *parsedRows) (next int) {
	start := at
	for text.at(at) == ' ' {
		at++
	}
	d, end, ok := scanDecimal(text[:], at, p.point)
	if !ok {
		return 0
	}
	number := text[at:end]
	for text.at(end) == ' ' && cell.end != ' ' {
		end++
	}
	if c := text.at(end); c != cell.end && !(isLineEnd(cell.end) && isLineEnd(c)) || c == '\r' && text.at(end+1) != '\n' {
		return 0
	}
	if !p.put(cell, d, number, out) {
		return 0
	}
	if at == start && end == start+len(number) && text.at(end) == cell.end {
		cell.learn(d, number, p.point)
	}
	return end + 1
}

func isLineEnd(c byte) bool { return c == '\n' || c == '\r' }

// put stores a number; not ok where it is too large for what it should be.
func (p *rowParser) put(cell *cellPlan, d decimal, number []byte, out *parsedRows) (ok bool) {
	if cell.role == voltsCell {
		v := d.float(cell.exp, number, p.point)
		cell.values[out.rows] = v
		return math.Abs(v) <= mostVolts
	}
	p.time, ok = d.ticks(cell.exp)
	return ok
}

// putTime stores the time of a row.
func (p *rowParser) putTime(ticks int64, out *parsedRows) {
	if uint64(ticks)-uint64(out.last)-p.low > p.span {
		out.jump(ticks, p.step)
	}
	out.last = ticks
}

// oddRow reads a line that the quick way did not take, cell by cell. It becomes
// a row if any wanted cell says something, or if all of them are empty.
func (p *rowParser) oddRow(line []byte, out *parsedRows) {
	if len(bytes.Trim(line, " \t\r\x00")) == 0 {
		return
	}
	p.scratch = cutCells(line, p.delim, p.scratch[:0])
	values := make([]cellValue, len(p.cells))
	says, odd := 0, -1
	for c, cell := range p.cells {
		if cell.role == passedOver {
			continue
		}
		values[c] = p.wanted(cell, c)
		says += one(values[c].counts())
		if values[c].as == inWords && odd < 0 {
			odd = c
		}
	}
	switch {
	case says == 0 && odd >= 0 && isRemark(line):
		return
	case odd >= 0:
		out.remarks.noteOdd(line, p.scratch, odd)
	}
	if says > 0 || odd < 0 || p.keepRows {
		p.putRow(values, out)
	}
}

// wanted reads a wanted cell; one that is not there, and a number that cannot
// be what it should be, are in words.
func (p *rowParser) wanted(cell cellPlan, c int) cellValue {
	if c >= len(p.scratch) {
		return cellValue{}
	}
	v := readCell(p.scratch[c], p.point)
	switch {
	case cell.role == timeCell && v.counts():
		if _, ok := v.ticks(cell.exp); !ok {
			return cellValue{}
		}
	case v.as == asClock, v.as == asNumber && !(math.Abs(v.float(cell.exp)) <= mostVolts):
		return cellValue{}
	}
	return v
}

// isRemark tells a line that is meant for people.
func isRemark(line []byte) bool {
	line = bytes.TrimLeft(line, " \t\"")
	return len(line) > 0 && bytes.IndexByte([]byte("#%;/"), line[0]) >= 0
}

// putRow stores a row that was read cell by cell.
func (p *rowParser) putRow(values []cellValue, out *parsedRows) {
	timed := false
	for c := range p.cells {
		cell := &p.cells[c]
		switch cell.role {
		case timeCell:
			if ticks, ok := values[c].ticks(cell.exp); ok {
				p.putTime(ticks, out)
				timed = true
			}
		case voltsCell:
			cell.values[out.rows] = out.remarks.volts(values[c], cell.exp)
		}
	}
	if !timed && out.timed() {
		out.last += p.step
	}
	out.rows++
}

// volts is the sample that a cell stands for.
func (r *rowRemarks) volts(v cellValue, exp int) float64 {
	switch v.as {
	case asNumber:
		return v.float(exp)
	case aboveAll:
		r.above++
		return math.Inf(1)
	case belowAll:
		r.below++
		return math.Inf(-1)
	case asNothing:
		r.empty++
	}
	return math.NaN()
}

// noteOdd counts a line that could not be read and keeps the first.
func (r *rowRemarks) noteOdd(line []byte, cells [][]byte, c int) {
	r.odd++
	if r.odd > 1 {
		return
	}
	r.firstOdd = oddCell{line: r.lines, cell: c, column: len(line)}
	if c < len(cells) {
		r.firstOdd.text = cleanText(cells[c])
		r.firstOdd.column = cap(line) - cap(cells[c])
	}
}

// lastRow reads a line without a line end, which may have been cut short: if
// it has fewer cells than the line above, or a shorter number in the last one,
// it is left out.
func (p *rowParser) lastRow(line, above []byte, out *parsedRows) {
	cells := cutCells(line, p.delim, nil)
	others := cutCells(above, p.delim, nil)
	if above == nil {
		others = make([][]byte, p.width)
	}
	switch last := len(cells) - 1; {
	case len(cells) < len(others):
		out.remarks.cutShort = true
	case len(cells) == len(p.cells) && len(cells) == len(others) && len(cells[last]) < len(others[last]):
	default:
		out.makeRoom(p.cells)
		p.oddRow(line, out)
	}
	out.remarks.lines++
}
