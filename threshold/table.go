package threshold

import (
	"sort"

	"armcurve/captures"
)

// Row is one row of a table.
type Row struct {
	RPM float64
	// ThresholdV is unknown where no threshold is right.
	ThresholdV captures.Maybe
	Pos        captures.Pos // where a given table has it
}

// Table is an arming threshold over engine speed, by rising speed.
type Table struct {
	Rows        []Row
	BetweenRows BetweenRows
}

// NewTable returns the table with its rows in order of speed. Speeds must
// differ.
func NewTable(rows []Row, between BetweenRows) Table {
	sorted := append([]Row(nil), rows...)
	sort.SliceStable(sorted, func(i, j int) bool { return sorted[i].RPM < sorted[j].RPM })
	return Table{Rows: sorted, BetweenRows: between}
}

// At is the threshold the controller uses at a speed; unknown next to a row
// without one, and in an empty table.
func (t Table) At(rpm float64) captures.Maybe {
	next := sort.Search(len(t.Rows), func(i int) bool { return t.Rows[i].RPM > rpm })
	switch {
	case len(t.Rows) == 0:
		return captures.Maybe{}
	case next == 0:
		return t.Rows[0].ThresholdV
	case next == len(t.Rows) || t.BetweenRows == Step:
		return t.Rows[next-1].ThresholdV
	}
	lo, hi := t.Rows[next-1], t.Rows[next]
	if rpm == lo.RPM {
		return lo.ThresholdV
	}
	if !lo.ThresholdV.Known || !hi.ThresholdV.Known {
		return captures.Maybe{}
	}
	share := (rpm - lo.RPM) / (hi.RPM - lo.RPM)
	return captures.Some(lo.ThresholdV.Value + share*(hi.ThresholdV.Value-lo.ThresholdV.Value))
}

// rowFor is the index of the row that answers for a speed: the nearest, or the
// one held there.
func (t Table) rowFor(rpm float64) int {
	next := sort.Search(len(t.Rows), func(i int) bool { return t.Rows[i].RPM > rpm })
	switch {
	case next == 0:
		return 0
	case next == len(t.Rows) || t.BetweenRows == Step || rpm-t.Rows[next-1].RPM <= t.Rows[next].RPM-rpm:
		return next - 1
	}
	return next
}

// rowsFor are the indices of the rows that decide at a speed: the one that
// answers for it, then the one on its other side.
func (t Table) rowsFor(rpm float64) []int {
	if len(t.Rows) == 0 {
		return nil
	}
	i := t.rowFor(rpm)
	other := i + 1
	if rpm < t.Rows[i].RPM {
		other = i - 1
	}
	if t.BetweenRows == Step || rpm == t.Rows[i].RPM || other < 0 || other == len(t.Rows) {
		return []int{i}
	}
	return []int{i, other}
}

// chargedTo is the row that a judgement at a speed counts against: the one that
// answers for it, unless the threshold is missing there because of the row on
// the other side.
func (t Table) chargedTo(rpm float64) int {
	i := t.rowFor(rpm)
	switch {
	case t.At(rpm).Known || !t.Rows[i].ThresholdV.Known:
		return i
	case rpm < t.Rows[i].RPM:
		return i - 1
	}
	return i + 1
}
