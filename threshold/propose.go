package threshold

import (
	"math"

	"armcurve/captures"
)

// Propose returns the best table for the sensor that its input can hold: see
// proposeAt.
func (s *Sensor) Propose() Table {
	speeds, _ := s.axis()
	return s.proposeAt(speeds)
}

// proposeAt returns the best table with rows at the given speeds: of all with
// thresholds in steps within the limits the one with the largest worst score
// over every judged speed, up to 1; where that is under 1, with the largest
// scores elsewhere too; of those with the fewest falls where the window does
// not fall, the one nearest to the thresholds aimed at, by the sum of squares
// of threshold ÷ weakest tooth; of those alike the smoothest.
func (s *Sensor) proposeAt(speeds []float64) Table {
	if len(speeds) == 0 {
		return Table{BetweenRows: s.Options.Input.BetweenRows}
	}
	f := s.newFrame(speeds)
	f.raise()
	return f.table(f.nearest())
}

// table writes the thresholds of the groups, in steps, into rows.
func (f *frame) table(values []float64) Table {
	t := Table{BetweenRows: f.between}
	for i, g := range f.groups {
		for row := g.first; row <= g.last; row++ {
			r := Row{RPM: f.speeds[row]}
			if !g.none {
				r.ThresholdV = captures.Some(values[i] * f.steps.v)
			}
			t.Rows = append(t.Rows, r)
		}
	}
	return t
}

// distance is what a threshold costs a group.
func (g group) distance(value float64) float64 {
	if g.none {
		return 0
	}
	d := (value - g.aim) / g.weakest
	return d * d
}

// falls is what a threshold lower than the one before it costs: nothing where
// the aim falls too.
func (f *frame) falls(i int) cost {
	before, g := f.groups[i-1], f.groups[i]
	if before.none || g.none || g.aim < before.aim {
		return cost{}
	}
	return cost{count: 1}
}

// roughness is the square of the step from the group before.
func (f *frame) roughness(i int, before, value float64) float64 {
	if f.groups[i-1].none || f.groups[i].none {
		return 0
	}
	return (value - before) * (value - before)
}

// nearest returns the values of the table nearest to the aims of all that reach
// the scores wanted.
func (f *frame) nearest() []float64 {
	values, _ := f.cheapest()
	return values
}

// cheapest finds the table nearest to the aims. One that is near is found
// first; values that cost more than it leaves to spare are not looked at. Where
// rounding lets no table pass, ok is false and the near one is returned.
func (f *frame) cheapest() (values []float64, ok bool) {
	all, ok := f.runs()
	if !ok {
		all = f.limitRuns()
	}
	near := f.near(all)
	s := search{f: f, choices: f.worthwhile(all, near), fall: f.falls}
	if best, ok := s.cheapest(); ok {
		return best, true
	}
	return near, false
}

// limitRuns are the steps within the limits, for every group.
func (f *frame) limitRuns() [][]run {
	all := make([][]run, len(f.groups))
	for i := range all {
		all[i] = []run{{f.steps.min, f.steps.max}}
	}
	return all
}

// near goes back through the runs and takes, of the steps that lead to the one
// above, the nearest to the aim, without a fall if there is a way.
func (f *frame) near(all [][]run) []float64 {
	values := make([]float64, len(all))
	for i := len(all) - 1; i >= 0; i-- {
		runs := all[i]
		if i+1 < len(all) && !f.groups[i].none && !f.groups[i+1].none {
			p := f.passage(i + 1)
			lead := p.back(values[i+1])
			if some := within(runs, lead); len(some) > 0 {
				runs = some
			}
			if some := within(runs, sides{0, values[i+1]}); len(some) > 0 && f.falls(i+1).count > 0 {
				runs = some
			}
		}
		values[i] = float64(nearest(runs, f.groups[i].aim))
	}
	return values
}

// worthwhile gives the values that can be part of a table better than the one
// known.
func (f *frame) worthwhile(all [][]run, known []float64) []choice {
	spare := f.spare(all, known)
	choices := make([]choice, len(all))
	for i, g := range f.groups {
		reach := math.Sqrt(g.distance(float64(nearest(all[i], g.aim)))+spare) * g.weakest
		worth := sides{g.aim - reach - sideSlack, g.aim + reach + sideSlack}
		if g.none {
			worth = sides{known[i], known[i]}
		}
		for _, r := range within(all[i], worth) {
			for k := r.from; k <= r.to; k++ {
				choices[i].add(float64(k), cost{distance: g.distance(float64(k))})
			}
		}
	}
	return choices
}

// spare is the cost that a table better than the known one can have beyond what
// each group alone must have; +Inf where the known one falls, since fewer falls
// may lie far away.
func (f *frame) spare(all [][]run, known []float64) float64 {
	spare := 0.0
	for i, g := range f.groups {
		if i > 0 && known[i] < known[i-1] && f.falls(i).count > 0 {
			return math.Inf(1)
		}
		if !g.none {
			spare += g.distance(known[i]) - g.distance(float64(nearest(all[i], g.aim)))
		}
	}
	return spare
}
