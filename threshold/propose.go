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
	layers := f.runsByFalls()
	if layers == nil {
		return f.near([][][]run{f.limitRuns()}), false
	}
	near := f.near(layers)
	s := search{f: f, choices: f.worthwhile(layers[len(layers)-1], near), fall: f.falls}
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

// runsByFalls gives, for 0, 1, 2, … falls up to the fewest that a table has,
// what runs does: for every group the steps that tables with no more falls lead
// to; nil where none reaches the scores wanted.
func (f *frame) runsByFalls() [][][]run {
	var layers [][][]run
	for falls := range f.groups {
		layer := make([][]run, len(f.groups))
		for i := range f.groups {
			within := f.stepsOpen(i)
			if i > 0 && len(layer[i-1]) == 0 {
				continue
			}
			if f.alone(i) {
				layer[i] = joinRun(nil, within)
				continue
			}
			p := f.passageTo(i, within)
			if f.falls(i).count == 0 {
				layer[i] = p.image(layer[i-1])
				continue
			}
			layer[i] = p.risingImage(layer[i-1])
			if falls > 0 {
				layer[i] = union(append(layer[i], p.image(layers[falls-1][i-1])...))
			}
		}
		layers = append(layers, layer)
		if len(layer[len(layer)-1]) > 0 {
			return layers
		}
	}
	return nil
}

// near goes back through the runs of the most falls and takes, of the steps that
// lead to the one above, the nearest to the aim, without a fall if there is a
// way.
func (f *frame) near(layers [][][]run) []float64 {
	values := make([]float64, len(f.groups))
	falls := len(layers) - 1
	for i := len(values) - 1; i >= 0; i-- {
		runs := layers[falls][i]
		if i+1 < len(values) && !f.alone(i+1) {
			p := f.passage(i + 1)
			lead := p.back(values[i+1])
			rising := within(runs, lead.and(sides{0, values[i+1]}))
			switch {
			case f.falls(i+1).count == 0:
				rising = within(runs, lead)
			case len(rising) == 0 && falls > 0:
				falls--
				rising = within(layers[falls][i], lead)
			}
			if len(rising) > 0 {
				runs = rising
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

// spare is the cost that a table better than the known one, which has no more
// falls than it must, can have beyond what each group alone must have.
func (f *frame) spare(all [][]run, known []float64) float64 {
	spare := 0.0
	for i, g := range f.groups {
		if !g.none {
			spare += g.distance(known[i]) - g.distance(float64(nearest(all[i], g.aim)))
		}
	}
	return spare
}
