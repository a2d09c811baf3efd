package csvfile

import (
	"bytes"
	"slices"
	"strings"
	"unicode"
)

// heading is what the lines above and beside the rows say.
type heading struct {
	names   []string // of the columns, without units; "" for none
	written []string // the same as written
	units   []string // of the columns, as written; "" for none
	notes   []headNote
}

// headNote is one thing stated: "Sample Interval,4.0,us".
type headNote struct {
	key   string // in lower case, without marks
	unit  string // that stood in brackets behind the key
	value string
	next  string // the cell behind the value
	line  int    // an index of the head's lines
}

// readHeading collects what the file says of its columns. isData tells the
// columns of numbers from those beside them.
func (g *grid) readHeading(isData []bool) heading {
	h := heading{names: make([]string, g.width), written: make([]string, g.width), units: make([]string, g.width)}
	for i := range g.lines[:g.first] {
		h.note(g.looseTexts(i), i)
	}
	for i, row := range g.rows {
		h.note(g.besideRow(g.rowLines[i], len(row), isData), g.rowLines[i])
	}
	nameRow := h.readNames(g, isData)
	h.noteBelow(g, nameRow, isData)
	return h
}

// looseTexts cuts a line of the header; one without the rows' delimiter is cut
// by another.
func (g *grid) looseTexts(line int) []string {
	texts := g.texts(line)
	if g.delim != ' ' && len(slices.DeleteFunc(slices.Clone(texts), isEmpty)) > 1 {
		return texts
	}
	whole := utf8Text(g.lines[line])
	for _, delim := range []string{",", ";", "\t"} {
		if strings.Contains(whole, delim) {
			texts = strings.Split(whole, delim)
			break
		}
		texts = []string{whole}
	}
	for i := range texts {
		texts[i] = cleanText([]byte(texts[i]))
	}
	return texts
}

func isEmpty(text string) bool { return text == "" }

// besideRow are the texts on a row's line that stand outside the data.
func (g *grid) besideRow(line, width int, isData []bool) []string {
	const mostLines = 100
	if line-g.first > mostLines || !slices.Contains(isData[:min(width, len(isData))], false) {
		return nil
	}
	texts := g.texts(line)
	for c := range texts {
		if isData[c] {
			texts[c] = ""
		}
	}
	return texts
}

// note takes the keys and values off one line: cells that follow each other,
// or "key: value" and "key=value" in one cell.
func (h *heading) note(texts []string, line int) {
	texts = slices.DeleteFunc(slices.Clone(texts), isEmpty)
	for i, text := range texts {
		n := headNote{line: line}
		key := text
		if at := strings.IndexAny(text, ":="); at > 0 && strings.Trim(text[at:], ":= \t") != "" {
			key, n.value = text[:at], strings.Trim(text[at:], ":= \t")
			n.next = textAt(texts, i+1)
		} else {
			n.value, n.next = textAt(texts, i+1), textAt(texts, i+2)
		}
		n.key, n.unit = headKey(key)
		if n.key != "" && n.value != "" {
			h.notes = append(h.notes, n)
		}
	}
}

func textAt(texts []string, i int) string {
	if i < len(texts) {
		return texts[i]
	}
	return ""
}

// headKey is a key in lower case with single spaces for all marks.
func headKey(text string) (key, unitName string) {
	text, unitName = dividedName(strings.Trim(text, "#%;:=\" \t"))
	if _, known := unitOf(unitName); !known {
		unitName = ""
	}
	words := strings.FieldsFunc(strings.ToLower(text), func(r rune) bool {
		return !unicode.IsLetter(r) && !unicode.IsDigit(r)
	})
	return strings.Join(words, " "), unitName
}

// readNames finds the row of names and the row of units: the nearest lines
// above the rows with texts over the data. nameRow is −1 where there is none.
func (h *heading) readNames(g *grid, isData []bool) (nameRow int) {
	const farthest = 4
	for line := g.first - 1; line >= max(0, g.first-farthest); line-- {
		texts := g.columnTexts(line)
		over := overData(texts, isData)
		switch {
		case len(over) == 0:
			continue
		case len(texts) > g.width+extraCells || !areNames(over, g.point):
			return -1
		case areUnits(over), line > 0 && g.areUnitsUnder(over, line-1, isData):
			h.setUnits(texts)
			continue
		}
		copy(h.names, texts)
		copy(h.written, texts)
		h.divideNames()
		return line
	}
	return -1
}

// extraCells is how many cells a header may have more than the rows.
const extraCells = 4

// areNames tells names from the keys and values of a header.
func areNames(texts []string, point byte) bool {
	return !slices.ContainsFunc(texts, func(text string) bool {
		_, value, found := strings.Cut(strings.Replace(text, "=", ":", 1), ":")
		return found && strings.TrimSpace(value) != "" || readCell([]byte(text), point).as == asNumber
	})
}

// columnTexts cuts a line that may be the columns' names, a comment sign
// before them or not.
func (g *grid) columnTexts(line int) []string {
	texts := g.texts(line)
	if len(texts) > 0 {
		texts[0] = strings.TrimLeft(texts[0], "#% ")
	}
	if len(texts) > 1 && texts[0] == "" && g.delim == ' ' {
		texts = texts[1:]
	}
	return texts
}

func overData(texts []string, isData []bool) []string {
	var over []string
	for c, text := range texts {
		if c < len(isData) && isData[c] && text != "" {
			over = append(over, text)
		}
	}
	return over
}

// areUnits tells whether every text is a unit.
func areUnits(texts []string) bool {
	return !slices.ContainsFunc(texts, func(text string) bool {
		_, known := unitOf(text)
		return !known && !isCounts(text)
	})
}

// areUnitsUnder tells a row of units with a word or two among them, such as
// "Sequence,Volt", by a row of as many names above it.
func (g *grid) areUnitsUnder(texts []string, above int, isData []bool) bool {
	units := len(texts)
	for _, text := range texts {
		_, known := unitOf(text)
		units -= one(!known)
	}
	names := overData(g.columnTexts(above), isData)
	return units*2 >= len(texts) && !isTimeName(texts[0]) && len(names) == len(texts) && areNames(names, g.point)
}

// setUnits takes the units of a row that has some.
func (h *heading) setUnits(texts []string) {
	for c, text := range texts[:min(len(texts), len(h.units))] {
		if _, known := unitOf(text); known || isCounts(text) {
			h.units[c] = strings.Trim(text, " ()[]")
		}
	}
}

// isCounts tells the unit of bare converter counts.
func isCounts(unitName string) bool {
	switch strings.ToLower(strings.Trim(unitName, " ()[]")) {
	case "count", "counts", "adc", "lsb", "raw", "code", "codes", "digits", "bits":
		return true
	}
	return false
}

// divideNames takes the units off the names; a row of units is believed first.
func (h *heading) divideNames() {
	for c, name := range h.names {
		bare, unitName := dividedName(name)
		if _, known := unitOf(name); known {
			bare, unitName = name, name // a column of "mV"
		}
		if !looksLikeUnit(unitName) {
			continue
		}
		h.names[c] = bare
		if h.units[c] == "" {
			h.units[c] = unitName
		}
	}
}

// looksLikeUnit tells a unit, known or not, from a remark in brackets.
func looksLikeUnit(text string) bool {
	_, known := unitOf(text)
	short := len(text) > 0 && len([]rune(text)) <= 3 && !strings.ContainsAny(text, "0123456789")
	return known || isCounts(text) || short
}

// noteBelow reads keys in the row of names whose values stand below them,
// beside the data: "X,CH1,Start,Increment" over ",,-0.01,4e-6".
func (h *heading) noteBelow(g *grid, nameRow int, isData []bool) {
	if nameRow < 0 {
		return
	}
	const deep = 3
	for c, name := range g.columnTexts(nameRow) {
		if name == "" || c < len(isData) && isData[c] {
			continue
		}
		for line := nameRow + 1; line <= nameRow+deep && line < len(g.lines); line++ {
			texts := g.texts(line)
			if value := textAt(texts, c); value != "" {
				n := headNote{value: value, line: line}
				n.key, n.unit = headKey(name)
				h.notes = append(h.notes, n)
				break
			}
		}
	}
}

// find returns the first note whose key the test takes.
func (h *heading) find(is func(key string) bool) (headNote, bool) {
	i := slices.IndexFunc(h.notes, func(n headNote) bool { return is(n.key) })
	if i < 0 {
		return headNote{}, false
	}
	return h.notes[i], true
}

// quantity returns the first number under a key that the test takes.
func (h *heading) quantity(is func(key string) bool, point byte) (v cellValue, n headNote, ok bool) {
	for _, n := range h.notes {
		if is(n.key) {
			if v, ok := n.number(point); ok {
				return v, n, true
			}
		}
	}
	return cellValue{}, headNote{}, false
}

// number reads a note's value and the unit that stands with it, behind the key
// or in the next cell; the decimal mark may be the other one than in the rows.
func (n headNote) number(point byte) (v cellValue, ok bool) {
	for _, mark := range []byte{point, '.', ','} {
		if v = readCell(bytes.TrimSpace([]byte(n.value)), mark); v.as == asNumber {
			break
		}
	}
	if v.as != asNumber {
		return cellValue{}, false
	}
	for _, name := range []string{n.unit, n.next} {
		if u, known := unitOf(name); known && v.unit.of == noDimension {
			v.unit = u
		}
	}
	return v, true
}
