package csvfile

import (
	"bytes"
	"fmt"
	"slices"
	"strings"

	"armcurve/captures"
)

// grid is the beginning of a recording cut into cells: a header in any shape,
// and rows of numbers below or beside it.
type grid struct {
	file         string
	delim, point byte
	lines        [][]byte  // of the head, without line ends
	first        int       // the line of the first row, an index of lines
	rows         []gridRow // those lines that have a number in every core column
	rowLines     []int     // the line of each row, an index of lines
	width        int       // cells in a row
	flat         bool      // the samples stood side by side on one line
}

// gridRow are the cells of a row.
type gridRow []cellValue

// at is a cell; one that the row is too short for is empty.
func (r gridRow) at(c int) cellValue {
	if c < len(r) {
		return r[c]
	}
	return cellValue{as: asNothing}
}

// mostColumns bounds what is still a recording.
const mostColumns = 1000

// linesScored bounds how many lines the delimiter is found from.
const linesScored = 100

// readGrid finds out how the head is cut into cells.
func readGrid(text *textStream, file string, dialect Dialect) (*grid, error) {
	g := &grid{file: file, lines: linesOf(text.head, text.whole)}
	g.unrow(text, dialect)
	if err := g.findDialect(dialect); err != nil {
		return nil, err
	}
	if err := g.findRows(); err != nil {
		return nil, err
	}
	return g, nil
}

// linesOf cuts the head into lines. A last one is left out where the head cut
// it off.
func linesOf(head []byte, whole bool) [][]byte {
	var lines [][]byte
	for {
		line, after, found := bytes.Cut(head, []byte{'\n'})
		lines = append(lines, line)
		if !found {
			break
		}
		head = after
	}
	last := len(lines) - 1
	if len(bytes.Trim(lines[last], "\x00 ")) == 0 || !whole && last > 0 {
		lines = lines[:last]
	}
	return lines
}

// unrow makes rows of samples that stand side by side on one line.
func (g *grid) unrow(text *textStream, dialect Dialect) {
	const fewLines = 3
	if len(g.lines) == 0 || len(g.lines) > fewLines {
		return
	}
	last := g.lines[len(g.lines)-1]
	for _, delim := range delimiters {
		if (dialect.Delimiter == 0 || dialect.Delimiter == rune(delim)) && isOneLine(last, delim) {
			text.rest = text.exchange(text.rest, delim)
			g.lines, g.flat = linesOf(text.head, text.whole), true
			return
		}
	}
}

// isOneLine tells a line that is nearly all numbers, and many.
func isOneLine(line []byte, delim byte) bool {
	const manyCells = 64
	cells := cutCells(line, delim, nil)
	if len(cells) < manyCells {
		return false
	}
	numbers := max(scoreLine(cells, '.').numbers, scoreLine(cells, ',').numbers)
	return numbers*10 >= len(cells)*9
}

// at is the place of a line of the head.
func (g *grid) at(line int) captures.Pos {
	if g.flat {
		return captures.Pos{File: g.file, Line: 1}
	}
	return captures.Pos{File: g.file, Line: line + 1}
}

// problem is an error at a place in the file.
func problem(pos captures.Pos, hint, format string, args ...any) error {
	return Errors{{Pos: pos, Text: fmt.Sprintf(format, args...), Hint: hint}}
}

func (g *grid) noRows() error {
	return problem(captures.Pos{File: g.file}, "export the samples themselves, not only the settings or a picture",
		"found no rows of numbers in %d lines; want a recording, one row for each sample", len(g.lines))
}

// findRows finds the first row: the first line with a number in every core
// column, those in which nearly all later lines have one. Later lines without
// are odd ones.
func (g *grid) findRows() error {
	core := g.coreColumns()
	if len(core) == 0 {
		return g.noRows()
	}
	g.first = -1
	var cells [][]byte
	var room []cellValue // for many rows at once
	for i, line := range g.lines {
		cells = cutCells(line, g.delim, cells[:0])
		if len(cells) > len(room) {
			room = make([]cellValue, 256*len(cells))
		}
		row := gridRow(room[:len(cells):len(cells)])
		for c, cell := range cells {
			row[c] = readCell(cell, g.point)
		}
		if !isRow(row, core) {
			continue
		}
		room = room[len(cells):]
		if g.first < 0 {
			g.first = i
		}
		g.rows = append(g.rows, row)
		g.rowLines = append(g.rowLines, i)
		g.width = max(g.width, len(row))
	}
	if g.width > mostColumns {
		return problem(g.at(g.first), "", "found %d columns; want at most %d", g.width, mostColumns)
	}
	return nil
}

// coreColumns are those with a number in nine of ten of the last half of the
// lines that have numbers.
func (g *grid) coreColumns() []int {
	var counts []int
	rows := 0
	var cells [][]byte
	for _, line := range scoredLines(g.lines) {
		cells = cutCells(line, g.delim, cells[:0])
		if scoreLine(cells, g.point).numbers == 0 {
			continue
		}
		rows++
		for c, cell := range cells {
			if c == len(counts) {
				counts = append(counts, 0)
			}
			counts[c] += one(readCell(cell, g.point).counts())
		}
	}
	var core []int
	for c, count := range counts {
		if count*10 >= rows*9 {
			core = append(core, c)
		}
	}
	return core
}

// counts tells whether a cell has a number or what stands for one.
func (v cellValue) counts() bool { return v.as != inWords && v.as != asNothing }

func isRow(row gridRow, core []int) bool {
	return !slices.ContainsFunc(core, func(c int) bool { return !row.at(c).counts() })
}

// scoredLines are up to linesScored of the second half of the lines, where no
// header is.
func scoredLines(lines [][]byte) [][]byte {
	half := lines[len(lines)/2:]
	return half[:min(len(half), linesScored)]
}

// cutCells cuts a line into cells, whose quotes stay; runs of spaces count as
// one delimiter. The cells are appended to cells.
func cutCells(line []byte, delim byte, cells [][]byte) [][]byte {
	line = bytes.Trim(line, "\r\x00")
	if delim == ' ' {
		return append(cells, bytes.Fields(line)...)
	}
	for {
		end := cellLength(line, delim)
		cells = append(cells, line[:end])
		if end == len(line) {
			return cells
		}
		line = line[end+1:]
	}
}

// cellLength is where the first cell ends; a quoted one may hold delimiters.
func cellLength(line []byte, delim byte) int {
	from := 0
	if start := bytes.TrimLeft(line, " "); len(start) > 0 && start[0] == '"' {
		from = len(line) - len(start) + 1
		if closing := bytes.IndexByte(line[from:], '"'); closing >= 0 {
			from += closing
		}
	}
	if end := bytes.IndexByte(line[from:], delim); end >= 0 {
		return from + end
	}
	return len(line)
}

// texts are the cells of a line as text, without quotes and spaces.
func (g *grid) texts(line int) []string {
	var texts []string
	for _, cell := range cutCells(g.lines[line], g.delim, nil) {
		texts = append(texts, cleanText(cell))
	}
	return texts
}

func cleanText(cell []byte) string {
	return strings.Trim(utf8Text(cell), " \t\r\x00\"'")
}
