package csvfile

import (
	"bytes"
	"cmp"
	"math"
	"slices"
)

var delimiters = []byte{',', ';', '\t', '|', ' '}

// cutting is one way of cutting a file into numbers, and how well it does.
type cutting struct {
	delim, point byte
	columns      int // numbers on most lines
	share        int // lines with as many numbers, in percent
	words        int // cells on those lines that are no numbers
}

// lineScore counts what a line holds.
type lineScore struct{ numbers, words int }

func scoreLine(cells [][]byte, point byte) (s lineScore) {
	for _, cell := range cells {
		v := readCell(cell, point)
		s.numbers += one(v.counts())
		s.words += one(v.as == inWords)
	}
	return s
}

// findDialect chooses the delimiter and the decimal mark under which most
// lines hold the same count of numbers and least else. Where two ways give
// different numbers equally well, the error asks.
func (g *grid) findDialect(given Dialect) error {
	lines := slices.DeleteFunc(slices.Clone(scoredLines(g.lines)), isBlank)
	best := g.bestCuttings(lines, given)
	if len(best) == 0 {
		return g.noRows()
	}
	best = withoutFilledUp(lines, best)
	for _, other := range best[1:] {
		if !sameNumbers(lines, best[0], other) && !g.headerAgrees(best[0]) {
			return g.askComma(lines)
		}
	}
	g.delim, g.point = best[0].delim, best[0].point
	return g.commaTwice(lines, best[0])
}

func isBlank(line []byte) bool { return len(bytes.Trim(line, " \t\r\x00,;")) == 0 }

// bestCuttings are those that no other one beats.
func (g *grid) bestCuttings(lines [][]byte, given Dialect) []cutting {
	var all []cutting
	for _, point := range []byte{'.', ','} {
		for _, delim := range delimiters {
			if given.Delimiter != 0 && given.Delimiter != rune(delim) || given.Decimal != 0 && given.Decimal != rune(point) {
				continue
			}
			if c := scored(lines, delim, point); c.columns > 0 {
				all = append(all, c)
			}
		}
	}
	compare := func(a, b cutting) int {
		return cmp.Or(cmp.Compare(b.share, a.share), cmp.Compare(a.words, b.words))
	}
	slices.SortStableFunc(all, compare)
	end := 0
	for end < len(all) && compare(all[0], all[end]) == 0 {
		end++
	}
	return all[:end]
}

func scored(lines [][]byte, delim, point byte) cutting {
	scores := make([]lineScore, len(lines))
	times := map[int]int{}
	var cells [][]byte
	for i, line := range lines {
		cells = cutCells(line, delim, cells[:0])
		scores[i] = scoreLine(cells, point)
		times[scores[i].numbers]++
	}
	c := cutting{delim: delim, point: point}
	most := 0
	for _, s := range scores {
		if n := times[s.numbers]; n > most && s.numbers > 0 {
			c.columns, most = s.numbers, n
		}
	}
	for _, s := range scores {
		if s.numbers == c.columns {
			c.words += s.words
		}
	}
	if len(lines) > 0 {
		c.share = most * 100 / len(lines)
	}
	return c
}

// withoutFilledUp drops the ways of cutting that give whole numbers with zeros
// in front, such as the 0469 of 1,0469, where another does not.
func withoutFilledUp(lines [][]byte, best []cutting) []cutting {
	plain := slices.DeleteFunc(slices.Clone(best), func(c cutting) bool {
		return slices.ContainsFunc(lines, func(line []byte) bool {
			return slices.ContainsFunc(cutCells(line, c.delim, nil), isFilledUp)
		})
	})
	if len(plain) == 0 {
		return best
	}
	return plain
}

func isFilledUp(cell []byte) bool {
	text := cleanText(cell)
	return len(text) > 1 && text[0] == '0' && isDigits(text)
}

// sameNumbers tells whether two ways of cutting give the same numbers.
func sameNumbers(lines [][]byte, a, b cutting) bool {
	return slices.EqualFunc(numbersOf(lines, a), numbersOf(lines, b), func(v, w float64) bool {
		return v == w || math.IsNaN(v) && math.IsNaN(w)
	})
}

func numbersOf(lines [][]byte, c cutting) []float64 {
	var numbers []float64
	for _, line := range lines {
		for _, cell := range cutCells(line, c.delim, nil) {
			v := readCell(cell, c.point)
			switch v.as {
			case asNumber:
				numbers = append(numbers, v.float(0))
			case aboveAll, belowAll:
				numbers = append(numbers, math.Inf(1-2*one(v.as == belowAll)))
			case asClock:
				numbers = append(numbers, float64(v.clock))
			}
		}
	}
	return numbers
}

// headerAgrees tells whether the line above the numbers has as many names as
// a line has numbers, more than one.
func (g *grid) headerAgrees(c cutting) bool {
	return c.columns > 1 && g.namesAbove(c) == c.columns
}

// namesAbove counts the cells of the last line of text above the first that
// has as many numbers as most have.
func (g *grid) namesAbove(c cutting) (names int) {
	var cells [][]byte
	for _, line := range g.lines {
		cells = cutCells(line, c.delim, cells[:0])
		switch numbers := scoreLine(cells, c.point).numbers; {
		case numbers == c.columns:
			return names
		case numbers == 0 && !isBlank(line):
			names = len(cells)
		}
	}
	return names
}

// askComma says that a comma may be either.
func (g *grid) askComma(lines [][]byte) error {
	return problem(g.at(g.lineOf(lines[0])), "give --delimiter , or --decimal ,",
		"found %s; the comma may separate columns or be the decimal mark", shown(string(bytes.TrimSpace(lines[0]))))
}

func (g *grid) lineOf(line []byte) int {
	return slices.IndexFunc(g.lines, func(other []byte) bool { return bytes.Equal(line, other) })
}

// commaTwice refuses a file in which commas are both: twice as many columns
// as names, all of them whole numbers.
func (g *grid) commaTwice(lines [][]byte, c cutting) error {
	names := g.namesAbove(c)
	if c.delim != ',' || names == 0 || c.columns != 2*names {
		return nil
	}
	for _, line := range lines {
		if bytes.ContainsAny(line, ".eE\"") {
			return nil
		}
	}
	return problem(g.at(g.lineOf(lines[0])), "export with semicolons or tabs between the columns, or with decimal points",
		"found %d numbers under %d names; commas seem to separate the columns and to be the decimal mark too", c.columns, names)
}
