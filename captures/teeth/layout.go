package teeth

import (
	"math"
	"slices"
)

const (
	longestGap = 6 // pitches in an interval, at most
	// How much the lobes' height says of an interval, against the speed's
	// evenness: teeth close together have enlarged ones beside a gap, while
	// from one of a few teeth to the next the speed may change much.
	lobeWeightMany = 0.25
	lobeWeightFew  = 0.7
	// plainness is what an interval of more than one pitch costs, so that of
	// wheels that explain the wave alike the plainest is taken.
	plainness = 0.01
	// clearLayout is by how much the best layout has to be better than any
	// that differs in one interval, as a part of what the two differ in.
	clearLayout = 0.25
)

// layout finds how many pitches each interval of a turn holds: so that the wheel
// turns evenly, its speed from one interval to the next changing least, and that
// the lobes agree. lengths and lobes are by slot, lobes in pitches as in
// lobeClue. Nil where two layouts do about as well.
func layout(lengths, lobes []float64) []int {
	c := costs{lobeWeight: lobeWeightMany, lengths: make([]float64, len(lengths)), lobes: make([]float64, len(lobes))}
	for j := range lengths {
		c.lengths[j], c.lobes[j] = math.Log(lengths[j]), math.Log(lobes[j])
	}
	if len(lengths) < manyTeeth {
		c.lobeWeight = lobeWeightFew
	}
	best := c.best()
	if best == nil || !c.clear(best) {
		return nil
	}
	return best
}

// costs are those of a layout; lengths and lobes are logarithms.
type costs struct {
	lobeWeight     float64
	lengths, lobes []float64
}

var logOf = func() (logs [longestGap + 2]float64) {
	for k := range logs {
		logs[k] = math.Log(float64(k))
	}
	return logs
}()

// single is the cost of interval j being k pitches, pair that of it being
// followed by another of l.
func (c *costs) single(j, k int) float64 {
	d := logOf[k] - c.lobes[j]
	cost := c.lobeWeight * d * d
	if k > 1 {
		cost += plainness
	}
	return cost
}

func (c *costs) pair(j, k, l int) float64 {
	d := (logOf[k] - c.lengths[j]) - (logOf[l] - c.lengths[(j+1)%len(c.lengths)])
	return d * d
}

// best is the layout of least cost, by the way of Viterbi around the turn from
// each number of pitches that its first interval may hold.
func (c *costs) best() []int {
	n := len(c.lengths)
	var best []int
	least := math.Inf(1)
	from := make([][longestGap + 1]uint8, n)
	for first := 1; first <= longestGap; first++ {
		var cost [longestGap + 1]float64
		for k := range cost {
			cost[k] = math.Inf(1)
		}
		cost[first] = c.single(0, first)
		for j := 1; j < n; j++ {
			var next [longestGap + 1]float64
			for l := 1; l <= longestGap; l++ {
				next[l] = math.Inf(1)
				for k := 1; k <= longestGap; k++ {
					if total := cost[k] + c.pair(j-1, k, l); total < next[l] {
						next[l], from[j][l] = total, uint8(k)
					}
				}
				next[l] += c.single(j, l)
			}
			cost = next
		}
		for last := 1; last <= longestGap; last++ {
			if total := cost[last] + c.pair(n-1, last, first); total < least {
				least, best = total, make([]int, n)
				for j, k := n-1, last; j >= 0; j-- {
					best[j] = k
					k = int(from[j][k])
				}
			}
		}
	}
	return best
}

// clear tells that changing any interval by one pitch makes it clearly worse.
func (c *costs) clear(pitches []int) bool {
	n := len(pitches)
	for j, k := range pitches {
		before := pitches[(j+n-1)%n]
		behind := pitches[(j+1)%n]
		here := c.single(j, k) + c.pair((j+n-1)%n, before, k) + c.pair(j, k, behind)
		for _, other := range []int{k - 1, k + 1} {
			if other < 1 {
				continue
			}
			there := c.single(j, other) + c.pair((j+n-1)%n, before, other) + c.pair(j, other, behind)
			d := logOf[other] - logOf[k]
			if there-here < clearLayout*d*d {
				return false
			}
		}
	}
	return true
}

// layOut lays out the turns of n intervals.
func layOut(in intervals, n int) []int {
	if n > len(in.samples)/2 {
		return nil
	}
	lengths := bySlot(partsOfTurn(in.samples, n), n)
	lobes := bySlot(in.byLobe, n)
	if slices.Min(lengths) <= 0 || slices.Min(lobes) <= 0 {
		return nil
	}
	return layout(lengths, lobes)
}
