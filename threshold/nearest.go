package threshold

import (
	"math"
	"slices"
	"sort"
)

// cost ranks tables that reach the scores wanted: fewest counted things first,
// then the least distance.
type cost struct {
	count    int
	distance float64
}

var never = cost{1 << 20, math.Inf(1)}

// sameDistance is the difference of two distances that is rounding.
const sameDistance = 1e-13

func (c cost) plus(o cost) cost { return cost{c.count + o.count, c.distance + o.distance} }

func (c cost) less(o cost) bool {
	return c.count < o.count || c.count == o.count && c.distance < o.distance
}

func (c cost) ties(o cost) bool {
	return c.count == o.count && math.Abs(c.distance-o.distance) <= sameDistance
}

// choice is the thresholds, in steps by rising value, that a group may take,
// and what each costs.
type choice struct {
	values []float64
	costs  []cost
}

func (c *choice) add(value float64, is cost) {
	c.values, c.costs = append(c.values, value), append(c.costs, is)
}

// search finds the cheapest table among choices, by dynamic programming: the
// least cost of a table up to a group, ending in a value, follows from that up
// to the group before, over the unbroken range of values that lead there.
type search struct {
	f       *frame
	choices []choice
	// fall is what a threshold lower than the one before it costs; nothing
	// where the window falls.
	fall func(group int) cost
	// least[i][j] is the least cost of a table up to group i that ends in its
	// j-th value.
	least [][]cost
}

// cheapest returns the values of the cheapest table; among those alike the one
// with the smallest squares of steps from row to row. ok is false where no
// choice reaches the scores wanted.
func (s *search) cheapest() (values []float64, ok bool) {
	if len(s.choices) == 0 {
		return nil, true
	}
	for i := range s.choices {
		s.advance(i)
	}
	return s.smoothest()
}

func (s *search) advance(i int) {
	c := s.choices[i]
	least := make([]cost, len(c.values))
	best := minima{}
	if i > 0 {
		best = newMinima(s.least[i-1])
	}
	for j, y := range c.values {
		least[j] = c.costs[j]
		if i > 0 {
			rising, falling := s.leading(i, y)
			least[j] = least[j].plus(cheaper(best.over(rising), best.over(falling).plus(s.fall(i))))
		}
	}
	s.least = append(s.least, least)
}

func cheaper(a, b cost) cost {
	if b.less(a) {
		return b
	}
	return a
}

// leading gives the indices of the values of the group before that lead to y:
// those up to it, and those above it.
func (s *search) leading(i int, y float64) (rising, falling run) {
	values := s.choices[i-1].values
	from, to := 0, len(values)-1
	if !s.f.groups[i].none && !s.f.groups[i-1].none {
		p := s.f.passage(i)
		back := p.back(y)
		from = sort.SearchFloat64s(values, back.low)
		to = sort.Search(len(values), func(k int) bool { return values[k] > back.high }) - 1
	}
	above := sort.Search(len(values), func(k int) bool { return values[k] > y })
	return run{from, min(to, above-1)}, run{max(from, above), to}
}

// smoothest goes back through all tables of least cost at once.
func (s *search) smoothest() (values []float64, ok bool) {
	last := len(s.choices) - 1
	best := slices.MinFunc(s.least[last], func(a, b cost) int {
		if a.less(b) {
			return -1
		}
		return 1
	})
	if best.count >= never.count {
		return nil, false
	}
	var ends []tail
	for j, c := range s.least[last] {
		if c.ties(best) {
			ends = append(ends, tail{index: j})
		}
	}
	for i := last; i > 0; i-- {
		ends = s.before(i, ends)
	}
	start := slices.MinFunc(ends, func(a, b tail) int { return compareFloat(a.rough, b.rough) })
	for i, end := 0, &start; end != nil; i, end = i+1, end.next {
		values = append(values, s.choices[i].values[end.index])
	}
	return values, true
}

// tail is the rest of a table, from a group on.
type tail struct {
	index int     // of the group's value
	rough float64 // sum of the squares of its steps from row to row
	next  *tail
}

// before gives the smoothest tails one group longer that are still of least
// cost.
func (s *search) before(i int, ends []tail) []tail {
	smoothest := map[int]tail{}
	for e := range ends {
		end := &ends[e]
		y := s.choices[i].values[end.index]
		rising, falling := s.leading(i, y)
		rest := s.least[i][end.index]
		for k := rising.from; k <= falling.to; k++ {
			c := s.least[i-1][k].plus(s.choices[i].costs[end.index])
			if k > rising.to {
				if k < falling.from {
					continue
				}
				c = c.plus(s.fall(i))
			}
			if !c.ties(rest) {
				continue
			}
			t := tail{k, end.rough + s.f.roughness(i, s.choices[i-1].values[k], y), end}
			if old, found := smoothest[k]; !found || t.rough < old.rough {
				smoothest[k] = t
			}
		}
	}
	var longer []tail
	for k := range s.choices[i-1].values {
		if t, found := smoothest[k]; found {
			longer = append(longer, t)
		}
	}
	return longer
}

// minima answers for the least cost over any range of values: by tables of the
// least over ranges of 1, 2, 4, … blocks of values, and value by value at the
// ends.
type minima struct {
	costs  []cost
	blocks [][]cost
}

const blockSize = 8

func newMinima(costs []cost) minima {
	m := minima{costs: costs}
	var level []cost
	for i := 0; i+blockSize <= len(costs); i += blockSize {
		level = append(level, leastOf(costs[i:i+blockSize]))
	}
	for width := 1; len(level) > 0; width *= 2 {
		m.blocks = append(m.blocks, level)
		var wider []cost
		for i := 0; i+width < len(level); i++ {
			wider = append(wider, cheaper(level[i], level[i+width]))
		}
		level = wider
	}
	return m
}

func leastOf(costs []cost) cost {
	least := never
	for _, c := range costs {
		least = cheaper(least, c)
	}
	return least
}

func (m minima) over(r run) cost {
	first, after := (r.from+blockSize-1)/blockSize, (r.to+1)/blockSize
	switch {
	case r.empty():
		return never
	case first >= after:
		return leastOf(m.costs[r.from : r.to+1])
	}
	level := 0
	for 2<<level <= after-first {
		level++
	}
	least := cheaper(m.blocks[level][first], m.blocks[level][after-1<<level])
	least = cheaper(least, leastOf(m.costs[r.from:first*blockSize]))
	return cheaper(least, leastOf(m.costs[after*blockSize:r.to+1]))
}
