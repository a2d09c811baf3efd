package threshold

import (
	"math"
	"slices"

	"armcurve/captures"
)

// Repair is the smallest change to a given table that makes it reach its
// targets, or come as near to them as any table with the same rows.
type Repair struct {
	Table     Table
	Judgement Judgement
	Changes   []Change // by speed; empty where nothing can be gained
}

// Change is a row of a repaired table that differs from the given one.
type Change struct {
	RPM      float64
	Was, Now captures.Maybe // volts; Was is unknown where there was no threshold
}

// Repair changes as few rows of a table as can be, of those ways the one that
// changes them least, by the sum of changes ÷ weakest tooth. Rows up to the low
// end of cranking are changed to one value.
func (s *Sensor) Repair(t Table) Repair {
	r := Repair{Table: t, Judgement: s.Judge(t)}
	if r.Judgement.Worst.Score >= 1-targetSlack || len(t.Rows) == 0 {
		return r
	}
	f := s.newFrame(t.speedsRPM())
	f.raise()
	if values, ok := f.closestTo(t); ok {
		r.Table = f.repaired(t, values)
	}
	for i, row := range r.Table.Rows {
		if was := t.Rows[i].ThresholdV; was != row.ThresholdV {
			r.Changes = append(r.Changes, Change{row.RPM, was, row.ThresholdV})
		}
	}
	judged := s.Judge(r.Table)
	if judged.Worst.Score < r.Judgement.Worst.Score {
		// What stands there is between the steps, and better than any of them.
		return Repair{Table: t, Judgement: r.Judgement}
	}
	r.Judgement = judged
	return r
}

// AddRepair adds the repair of the table that was judged.
func (r *Result) AddRepair() {
	repair := r.Sensor.Repair(r.Table)
	r.Repair = &repair
}

// closestTo finds the values that reach the scores wanted with the fewest and
// smallest changes.
func (f *frame) closestTo(t Table) (values []float64, ok bool) {
	all, ok := f.runs()
	if !ok {
		return nil, false
	}
	s := search{f: f, fall: func(int) cost { return cost{} }}
	for i := range f.groups {
		s.choices = append(s.choices, f.changes(i, t, all[i]))
	}
	return s.cheapest()
}

// changes are the values a group may be changed to: steps, what one of its rows
// has already, and, at no cost, what it has.
func (f *frame) changes(i int, t Table, runs []run) choice {
	rows := f.rowsOf(i, t)
	var values []float64
	for _, r := range runs {
		for k := r.from; k <= r.to; k++ {
			values = append(values, float64(k))
		}
	}
	for _, was := range rows {
		if v := was.ThresholdV.Value / f.steps.v; was.ThresholdV.Known && f.allows(i, v) {
			values = append(values, v)
		}
	}
	if f.groups[i].none {
		values = []float64{rows[len(rows)-1].ThresholdV.Value / f.steps.v}
	}
	slices.Sort(values)
	var c choice
	for _, v := range slices.Compact(values) {
		c.add(v, f.change(i, rows, v))
	}
	return c
}

func (f *frame) rowsOf(i int, t Table) []Row { return t.Rows[f.groups[i].first : f.groups[i].last+1] }

// allows tells whether a value reaches the score wanted at the speeds that a
// group decides alone.
func (f *frame) allows(i int, value float64) bool {
	s := f.open(i)
	return value >= s.low && value <= s.high
}

// change is what a value costs a group.
func (f *frame) change(i int, rows []Row, value float64) cost {
	if f.keeps(i, rows, value) {
		return cost{}
	}
	var c cost
	for _, row := range rows {
		was := row.ThresholdV.Value / f.steps.v
		if !row.ThresholdV.Known || was != value {
			c = c.plus(cost{1, math.Abs(value-was) / f.groups[i].weakest})
		}
	}
	return c
}

// keeps tells whether a value stands for leaving the rows as they are: they may
// differ, if each of them does.
func (f *frame) keeps(i int, rows []Row, value float64) bool {
	if f.groups[i].none {
		return true
	}
	for _, row := range rows {
		v := row.ThresholdV.Value / f.steps.v
		if !row.ThresholdV.Known || !f.allows(i, v) {
			return false
		}
	}
	return value == rows[len(rows)-1].ThresholdV.Value/f.steps.v
}

// repaired writes the values into the rows they change.
func (f *frame) repaired(t Table, values []float64) Table {
	fixed := Table{Rows: slices.Clone(t.Rows), BetweenRows: t.BetweenRows}
	for i, g := range f.groups {
		if f.keeps(i, f.rowsOf(i, t), values[i]) {
			continue
		}
		for row := g.first; row <= g.last; row++ {
			if was := t.Rows[row].ThresholdV; !was.Known || was.Value/f.steps.v != values[i] {
				fixed.Rows[row].ThresholdV = captures.Some(values[i] * f.steps.v)
			}
		}
	}
	return fixed
}
