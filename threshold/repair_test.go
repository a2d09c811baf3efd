package threshold

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"armcurve/captures"
)

// spoil gives a table of the frame's rows that is wrong in some of them, on the
// steps or off them.
func (f *frame) spoil(r *rand.Rand, values []float64) Table {
	t := f.table(values)
	for i := range t.Rows {
		switch r.IntN(3) {
		case 0:
			t.Rows[i].ThresholdV = captures.Some(f.steps.v * (0.5 + 6*r.Float64()))
		case 1:
			t.Rows[i].ThresholdV = captures.Some(f.steps.volts(f.steps.min + r.IntN(4)))
		}
		if !t.Rows[i].ThresholdV.Known {
			t.Rows[i].ThresholdV = captures.Some(f.steps.v)
		}
	}
	return t
}

// everyRepair calls visit with every way to change the table, and its cost.
func (f *frame) everyRepair(t Table, visit func(Table, cost)) {
	values := make([]float64, len(f.groups))
	var fill func(int)
	fill = func(i int) {
		if i == len(values) {
			fixed := f.repaired(t, values)
			visit(fixed, f.changed(t, fixed))
			return
		}
		rows := f.rowsOf(i, t)
		options := []float64{}
		for _, row := range rows {
			options = append(options, row.ThresholdV.Value/f.steps.v)
		}
		for k := f.steps.min; k <= f.steps.max && !f.groups[i].none; k++ {
			options = append(options, float64(k))
		}
		for _, v := range options {
			values[i] = v
			fill(i + 1)
		}
	}
	fill(0)
}

// changed is how many rows of a table differ from another's, and by how much.
func (f *frame) changed(from, to Table) (c cost) {
	for _, g := range f.groups {
		for i := g.first; i <= g.last; i++ {
			if was, is := from.Rows[i].ThresholdV.Value, to.Rows[i].ThresholdV.Value; was != is {
				c = c.plus(cost{1, math.Abs(is-was) / f.steps.v / g.weakest})
			}
		}
	}
	return c
}

func TestRepairAgainstEveryChange(t *testing.T) {
	r := rand.New(rand.NewPCG(8, 1))
	changes, tables := map[int]int{}, 0
	for n := range 800 {
		f := randomFrame(r)
		f.raise()
		wanted := slices.Clone(f.scores)
		given := f.spoil(r, f.nearest())
		values, ok := f.closestTo(given)
		if !ok {
			t.Fatalf("case %d: no repair of %v", n, given)
		}
		reaches := func(fixed Table) bool {
			for part, score := range f.partScores(fixed) {
				if score < wanted[part]*(1-targetSlack) && !f.besideNone(part) {
					return false
				}
			}
			return f.staysInside(f.outside(fixed))
		}
		fixed := f.repaired(given, values)
		own := f.changed(given, fixed)
		if !reaches(fixed) {
			t.Fatalf("case %d: %v, from %v, has scores %v, wanted %v", n, fixed, given, f.partScores(fixed), wanted)
		}
		changes[own.count]++
		f.everyRepair(given, func(other Table, c cost) {
			tables++
			if c.less(own) && !(c.count == own.count && math.Abs(c.distance-own.distance) < 1e-9) && reaches(other) {
				t.Fatalf("case %d: %v costs %v, %v %v\nfrom %v", n, other, c, fixed, own, given)
			}
		})
	}
	t.Logf("%d tables for 800 repairs; rows changed: %v", tables, changes)
}

// besideNone tells whether a part has no say because noise reaches the weakest
// tooth there.
func (f *frame) besideNone(part int) bool {
	if i := part - len(f.groups); i >= 0 {
		return f.groups[i].none || f.groups[i+1].none
	}
	return f.groups[part].none
}

// TestRepair spoils proposed tables and mends them.
func TestRepair(t *testing.T) {
	r := rand.New(rand.NewPCG(8, 2))
	spoilt, changed, clear := 0, 0, 0
	for n := range 300 {
		s := invent(r).sensor(t)
		given := s.Propose()
		if fixed := s.Repair(given); len(fixed.Changes) > 0 {
			t.Errorf("sensor %d: a proposed table is repaired: %v", n, fixed.Changes)
		}
		wrong := 1 + r.IntN(2)
		for range wrong {
			row := &given.Rows[r.IntN(len(given.Rows))]
			row.ThresholdV = row.ThresholdV.Times(0.3 + 2.5*r.Float64())
		}
		fixed := s.Repair(given)
		best := s.prove(given.speedsRPM()).Best
		if score := fixed.Judgement.Worst.Score; best.Known && score < min(1, best.Value)*(1-1e-8) {
			t.Errorf("sensor %d: repaired to worst score %v, best %v", n, score, best.Value)
		}
		if again := s.Repair(fixed.Table); len(again.Changes) > 0 {
			t.Errorf("sensor %d: repaired again: %v", n, again.Changes)
		}
		for _, c := range fixed.Changes {
			if c.Was == c.Now {
				t.Errorf("sensor %d: %v is no change", n, c)
			}
		}
		if len(fixed.Changes) > 0 {
			spoilt++
			changed += len(fixed.Changes)
		}
		if fixed.Judgement.Verdict == Clear {
			clear++
		}
	}
	t.Logf("%d of 300 tables repaired, %.1f rows each; %d are clear then", spoilt, float64(changed)/float64(spoilt), clear)
}

// TestRepairLetsTheEngineStart: what stands at 0 rpm has to count the first
// teeth of a cranking engine, though no speed under cranking is judged for it.
func TestRepairLetsTheEngineStart(t *testing.T) {
	readings, o := twelve()
	s, err := NewSensor(readings, o)
	if err != nil {
		t.Fatal(err)
	}
	low := s.Window(o.CrankingLowRPM)
	tooHigh := captures.Some(3 * low.WeakestV)
	given := NewTable([]Row{{RPM: 0, ThresholdV: tooHigh}, {RPM: 200, ThresholdV: tooHigh}, {RPM: 1000, ThresholdV: captures.Some(1)}, {RPM: 6500, ThresholdV: captures.Some(2)}}, Linear)
	fixed := s.Repair(given)
	if v := fixed.Table.Rows[0].ThresholdV.Value; v > low.WeakestV/low.SignalTarget*(1+targetSlack) {
		t.Errorf("%v V at 0 rpm, where the weakest tooth while cranking is %v V", v, low.WeakestV)
	}
}
