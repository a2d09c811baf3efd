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
	// result again.
	Inputs []Table
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
	ToType   *Table
	Charts   []Chart
	Tables   []Table
	Notes    []string
	Findings []captures.Finding
}

// Table is a table of a document. Every row has a cell for every column.
type Table struct {
	Title   string
	Columns []Column
	Rows    [][]Cell
	Note    string // stands under it on a page
	// Data marks the table that CSV is made of.
	Data bool
}

// Column is a column of a table.
type Column struct {
	Head string // as people read it, with the unit
	Key  string // as programs read it
	// Wide columns stand on the screen only when asked for.
	Wide bool
	Left bool // aligned to the left
}

// Cell is one value: for people, rounded; for programs, exact.
type Cell struct {
	Text  string
	Exact string
}
