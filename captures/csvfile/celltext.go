package csvfile

import (
	"bytes"
	"math"
	"slices"
	"strings"
	"unicode/utf8"
)

// wording is how a cell of a recording is worded.
type wording uint8

const (
	inWords   wording = iota // neither a number nor anything that stands for one
	asNumber                 //
	asNothing                // empty, or a word for a missing value
	aboveAll                 // the instrument ran out of range upwards
	belowAll                 // or downwards
	asClock                  // a time of day or a time elapsed
)

// cellValue is what a cell of a recording says.
type cellValue struct {
	as     wording
	number decimal
	unit   unit   // written behind the number; its own dimension or none
	digits []byte // the number's text, with padding behind it
	point  byte
	clock  int64 // nanoseconds, of a clock
}

// longestCell is the length of the longest cell that can hold a number.
const longestCell = 400

// readCell reads a cell in any wording there is. It is the slow and thorough
// way; the samples of a usual file never come here.
func readCell(cell []byte, point byte) cellValue {
	cell = bytes.Trim(cell, " \t\r\x00\"'")
	if len(cell) == 0 {
		return cellValue{as: asNothing}
	}
	if len(cell) > longestCell {
		return cellValue{}
	}
	if v, ok := readNumber(cell, point); ok {
		return v
	}
	text := utf8Text(cell)
	if as := readWord(strings.ToLower(text)); as != inWords {
		return cellValue{as: as}
	}
	if clock, ok := readClock(text); ok {
		return cellValue{as: asClock, clock: clock}
	}
	return readGrouped(cell, point)
}

// readNumber reads a number with a unit behind it or none.
func readNumber(cell []byte, point byte) (v cellValue, ok bool) {
	text := padded(cell, point)
	number, end, ok := scanDecimal(text, 0, point)
	if !ok {
		return cellValue{}, false
	}
	v = cellValue{number: number, digits: text[:end], point: point}
	if rest := bytes.TrimSpace(cell[end:]); len(rest) > 0 {
		if v.unit, ok = unitOf(utf8Text(rest)); !ok {
			return cellValue{}, false
		}
	}
	v.as = v.meaning()
	return v, true
}

// padded makes sure of padding behind a cell. What follows it in its line will
// do, unless a number could go on in it.
func padded(cell []byte, point byte) []byte {
	if end := len(cell) + padding; cap(cell) >= end && cell[:end][len(cell)] != point {
		return cell[:end]
	}
	return append(slices.Clip(slices.Clone(cell)), make([]byte, padding)...)
}

// Overflow as instruments with the common command language write it, and the
// same language's number for none.
const (
	overflowFrom = 9e36
	noNumberFrom = 9.905e37
	overflowTo   = 1e38
)

// meaning tells a measured number from one that stands for something else.
func (v cellValue) meaning() wording {
	switch size := math.Abs(v.float(0)); {
	case size < overflowFrom || size >= overflowTo:
		return asNumber
	case size >= noNumberFrom:
		return asNothing
	case v.number.neg:
		return belowAll
	}
	return aboveAll
}

// float gives the number times 10^shift; a unit of its own is taken instead.
func (v cellValue) float(shift int) float64 {
	if v.unit.of != noDimension {
		shift = v.unit.exp
	}
	return v.number.float(shift, v.digits, v.point)
}

// readWord reads the words and signs that stand for a number.
func readWord(text string) wording {
	bare := strings.TrimLeft(text, "+- ")
	neg := strings.HasPrefix(text, "-")
	switch bare {
	case "inf", "infinity", "∞", "1.#inf", "ol", "o.l", "ovl", "ovr", "over", "overload", "overflow", "overrange":
		if neg {
			return belowAll
		}
		return aboveAll
	case "under", "underflow", "underrange", "unl", "ul":
		return belowAll
	case "nan", "nan(ind)", "1.#qnan", "1.#ind", "na", "n/a", "#n/a", "null", "none":
		return asNothing
	}
	for _, filler := range []string{"-", "*", "#"} {
		if strings.Trim(text, filler) == "" {
			return asNothing
		}
	}
	return inWords
}

// readGrouped reads "1,234.5" or "1.234,5": a mark between thousands is
// believed only beside a decimal mark.
func readGrouped(cell []byte, point byte) cellValue {
	mark := byte('.' + ',' - int(point))
	whole, fraction, found := bytes.Cut(cell, []byte{point})
	groups := bytes.Split(bytes.TrimLeft(whole, "+-"), []byte{mark})
	if !found || len(groups) < 2 || len(groups[0]) == 0 || len(groups[0]) > 3 {
		return cellValue{}
	}
	for _, group := range groups[1:] {
		if len(group) != 3 {
			return cellValue{}
		}
	}
	plain := append(bytes.ReplaceAll(whole, []byte{mark}, nil), point)
	v, _ := readNumber(append(plain, fraction...), point)
	return v
}

// utf8Text gives text in UTF-8 or Latin-1 as a string.
func utf8Text(text []byte) string {
	if !utf8.Valid(text) {
		text = fromLatin1(text)
	}
	return string(text)
}
