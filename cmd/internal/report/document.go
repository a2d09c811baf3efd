package report

import "armcurve/captures"

// Document is a result in the order a person reads it.
type Document struct {
	// Setup tells where the setup came from; empty for none.
	Setup string
	// Sentence is the verdict in one sentence.
	Sentence string
	// First is what to do first, in one sentence; empty for nothing.
	First    string
	Sections []Section
	Findings []captures.Finding // of the files read, not of one sensor
	Assumed  []string           // what stood in for a measurement
	Defaults []string           // the other defaults in use
	ReadAs   []string
	// Inputs are what was read, to the last digit: enough to compute the
	// result again. Only a page has them.
	Inputs []func() Table
	// Command is what was typed, without where its output went; SetupText the
	// text of the setup file, empty for none.
	Command, SetupText string
	// Caution stands at the end.
	Caution string
}

// Section is the part of a document that speaks of one sensor.
type Section struct {
	Title string // empty where there is only one
	// ToType is the table to type into the controller, rpm and threshold; nil
	// where there is none.
	ToType *Table
	// Charts draws the pictures, which only a page has; nil for none.
	Charts   func() []Chart
	Tables   []Table
	Notes    []string
	Lists    []List
	Findings []captures.Finding
}

// Drawn are pictures that are drawn already.
func Drawn(charts ...Chart) func() []Chart { return func() []Chart { return charts } }

// isPictures tells that a section has nothing but pictures, which only a page
// has.
func (s Section) isPictures() bool {
	return len(s.Tables) == 0 && len(s.Notes) == 0 && len(s.Lists) == 0 && len(s.Findings) == 0
}

// List is lines of which the screen shows the first few, unless asked for all.
type List struct {
	Title string
	Lines []string
	Shown int
}

// Table is a table of a document. Every row has a cell for every column.
type Table struct {
	Title   string
	Columns []Column
	Rows    [][]Cell
	Note    string // stands under it on a page
	// Stack writes a row's cells one below the other on a narrow screen.
	Stack bool
	// Folded keeps it out of sight on a page until it is asked for.
	Folded bool
	// Data marks the table that CSV is made of.
	Data bool
}

// without is the table without some of its columns.
func (t Table) without(some func(Column) bool) Table {
	out := t
	out.Columns, out.Rows = nil, make([][]Cell, len(t.Rows))
	for i, c := range t.Columns {
		if some(c) {
			continue
		}
		out.Columns = append(out.Columns, c)
		for k, row := range t.Rows {
			out.Rows[k] = append(out.Rows[k], row[i])
		}
	}
	return out
}

// Column is a column of a table.
type Column struct {
	Head string // as people read it, with the unit
	Key  string // as programs read it
	// Wide columns stand on the screen only when asked for.
	Wide bool
	CSV  bool // stands in CSV alone
	Left bool // aligned to the left
	// Aside is the first of those that a narrow page puts into a table of their
	// own; where there is none it is the first that does not fit.
	Aside bool
}

// Cell is one value: for people, rounded; for programs, exact.
type Cell struct {
	Text  string
	Exact string
}
