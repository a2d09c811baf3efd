package csvfile

import (
	"encoding/binary"
	"errors"
	"math/bits"
)

// blockBytes is the size of a block of text, and so the longest line: small
// enough for a core's own cache, large enough that handing it on costs little.
const blockBytes = 128000

var errLongLine = errors.New("found a line longer than 128 kB; want lines with one sample each\nhint: export the recording again, as text in rows")

// blockText is a block of text with room behind it, for a last line end and for
// what is read too far. Places in it are masked, so that none lies outside.
type blockText [placeMask + 1 + 8]byte

const placeMask = 1<<17 - 1

func (t *blockText) at(i int) byte { return t[i&placeMask] }

// eight are the bytes from i on, the first one lowest.
func (t *blockText) eight(i int) uint64 {
	i &= placeMask
	return binary.LittleEndian.Uint64(t[i : i+8])
}

// cellEnd finds the delimiter, or anything that ends a line, from i on.
func (t *blockText) cellEnd(i int, delim byte) int {
	for delim == ' ' && t.at(i) == ' ' {
		i++
	}
	for {
		if found := endsCell(t.eight(i), delim); found != 0 {
			return i + bits.TrailingZeros64(found)>>3
		}
		i += 8
	}
}

// lineEnd is where the line after the one at i begins.
func (t *blockText) lineEnd(i int) int {
	for {
		if found := endsLine(t.eight(i)); found != 0 {
			return i + bits.TrailingZeros64(found)>>3 + 1
		}
		i += 8
	}
}

// endsCell marks the first of eight bytes that is the delimiter or, below the
// space, ends a line; those behind it are not to be looked at.
func endsCell(eight uint64, delim byte) (found uint64) {
	x := eight ^ uint64(delim)*everyByte
	return ((x-everyByte)&^x | (eight-' '*everyByte)&^eight) & topBits
}

// endsLine marks the first of eight bytes that is a line end, likewise.
func endsLine(eight uint64) (found uint64) {
	x := eight ^ '\n'*everyByte
	return (x - everyByte) &^ x & topBits
}
