package csvfile

import (
	"bytes"
	"encoding/binary"
	"math/bits"
)

// rowPlan says what to make of a row.
type rowPlan struct {
	delim, point byte
	columns      []cellPlan // up to the last one that is wanted
	width        int        // cells in a row
	low, span    uint64     // ticks from row to row: at least low, at most low + span
	timed        bool       // there is a column of time
	step         int64      // ticks that pass with a row that has no time
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
	// fewest and more bound the digits behind the decimal mark that the quick
	// way takes: so many, and so many more.
	fewest, more int
	whole        int    // digits before the mark in the cell above
	most         uint64 // the largest number of so many digits
	values       []float64
}

type cellRole uint8

const (
	passedOver cellRole = iota
	timeCell
	voltsCell
)

// mostWhole is how many digits before the mark the quick way takes: with eight
// behind it, the number is less than 2⁵³.
const mostWhole = 7

// newCell plans a cell so that the quick way is exact in it.
func newCell(role cellRole, channel, exp int, end byte) cellPlan {
	const eight, spareTens = 8, 3 // 10¹⁵ ticks × 10³ are less than 2⁶³
	cell := cellPlan{role: role, channel: channel, exp: exp, end: end, fewest: max(1, exp), more: eight}
	if role == timeCell {
		cell.fewest, cell.more = max(1, exp-spareTens), min(eight, exp)
	}
	cell.more -= cell.fewest
	cell.expect(1)
	return cell
}

// expect makes the quick way look for so many digits before the mark.
func (c *cellPlan) expect(whole int) {
	if whole >= 1 && whole <= mostWhole {
		c.whole, c.most = whole, wholeTens[whole]-1
	}
}

// window is the part of a row that is looked at. Places in it are masked, so
// that none lies outside.
type window = [windowMask + 1 + 8]byte

const (
	windowMask = 255
	// longestQuick is how far the quick way may look into a cell.
	longestQuick = 32
	// blockPadding is how many bytes stand behind the text of a block.
	blockPadding = windowMask + 1 + 8
)

func eightAt(w *window, i int) uint64 {
	i &= windowMask
	return binary.LittleEndian.Uint64(w[i : i+8])
}

// rowParser turns blocks of rows into samples. It belongs to one goroutine.
type rowParser struct {
	*rowPlan
	cells   []cellPlan
	time    int64 // of the row being read
	scratch [][]byte
}

// parse reads the rows of text[:end], whole lines with blockPadding behind
// them.
func (p *rowParser) parse(text []byte, end int, out *parsedRows) {
	for at := 0; at < end; out.remarks.lines++ {
		out.makeRoom(p.cells)
		length := p.quickRow((*window)(text[at:]), text[at:], out)
		if length == 0 {
			length = bytes.IndexByte(text[at:end], '\n') + 1
			p.oddRow(text[at:at+length-1], out)
		}
		at += length
	}
}

// quickRow reads a row and returns its length with the line's end; 0 where it
// has to be read as an odd one.
//
// This is where the time goes. The usual cell is read eight bytes at a time
// without comparing single ones: whole digits, the mark, up to eight digits
// more, and the byte behind them. A cell that looks different from the one
// above it goes to otherCell.
func (p *rowParser) quickRow(w *window, text []byte, out *parsedRows) (length int) {
	i := 0
	for c := range p.cells {
		if i > windowMask-longestQuick {
			return 0
		}
		cell := &p.cells[c]
		start := i
		if cell.role == passedOver {
			if i = cellEnd(w, i, p.delim); i > windowMask || w[i&windowMask] != p.delim {
				return 0
			}
		} else {
			neg := false
			if w[i&windowMask] == '-' {
				neg = true
				i++
			}
			mant := uint64(w[i&windowMask]) - '0'
			if cell.whole != 1 {
				mant = wholePart(w, i, cell.whole)
			}
			i += cell.whole
			values, n := digitsOf(eightAt(w, i+1))
			switch {
			case mant > cell.most || w[i&windowMask] != p.point || uint(n-cell.fewest) > uint(cell.more) || w[(i+1+n)&windowMask] != cell.end:
				if i = p.otherCell(cell, text, start, out); i == 0 {
					return 0
				}
			case cell.role == voltsCell:
				i += 1 + n
				mant = mant*wholeTens[n&31] + joined(values<<((64-8*n)&63))
				volts := float64(int64(mant)) / tens[(n-cell.exp)&31]
				if neg {
					volts = -volts
				}
				cell.values[out.rows] = volts
			default:
				i += 1 + n
				mant = mant*wholeTens[n&31] + joined(values<<((64-8*n)&63))
				mant *= wholeTens[(cell.exp-n)&31]
				if neg {
					mant = -mant
				}
				p.time = int64(mant)
			}
		}
		i++
	}
	if p.timed {
		p.putTime(p.time, out)
	}
	out.rows++
	i--
	for ; i <= windowMask; i += 8 {
		x := eightAt(w, i) ^ '\n'*everyByte
		if found := (x - everyByte) &^ x & topBits; found != 0 {
			return i + bits.TrailingZeros64(found)>>3 + 1
		}
	}
	return windowMask + 1 + bytes.IndexByte(text[windowMask+1:], '\n') + 1
}

// cellEnd finds the delimiter, or anything that ends a line, from i on; beyond
// the window where there is none in it.
func cellEnd(w *window, i int, delim byte) int {
	for delim == ' ' && w[i&windowMask] == ' ' {
		i++
	}
	for ; i <= windowMask; i += 8 {
		x := eightAt(w, i)
		y := x ^ uint64(delim)*everyByte
		// A byte below the space ends a line.
		if found := ((y-everyByte)&^y | (x-' '*everyByte)&^x) & topBits; found != 0 {
			return i + bits.TrailingZeros64(found)>>3
		}
	}
	return i
}

// wholePart reads n digits; a number too large for n where there are fewer.
func wholePart(w *window, i, n int) uint64 {
	values, digits := digitsOf(eightAt(w, i))
	if digits != n {
		return 1 << 63
	}
	return joined(values << (64 - 8*n))
}
