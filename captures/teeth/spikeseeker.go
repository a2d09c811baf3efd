package teeth

import (
	"maps"
	"math"
	"slices"
)

// spikeSeeker looks for narrow rises in the wave of the turn under way.
type spikeSeeker struct {
	turn []extent  // by the place in the wheel's turn; nil: not looked for
	sums []float64 // running ones of the wave
	last float64   // samples that a spark lasts

	bySpeed  map[int]spikeProfile
	turns    map[int]int // by speed
	isEnough bool        // of them, at the speed of the turn before
}

// extent is how far the wave goes above and below its smooth course.
type extent struct {
	up, down float32 // volts
	isSeen   bool
}

const (
	perProfilePitch = 16   // samples in a pitch at least
	sparkS          = 6e-5 // that sparks last, or some more
	widestSpike     = 0.2  // pitches
	narrowestSpike  = 4    // samples
	profilePitches  = 8    // in a turn at least: fewer teeth do not tell what a tooth itself leaves
	profileBin      = 0.1  // of speeds, in the logarithm
	profileNear     = 2    // of these bins on either side, whose turns count as well
	enoughProfiled  = 8    // turns, over which sparks are seen to come again
	mostProfiled    = 32   // beyond which turns tell no more
)

// begin is for another wheel.
func (s *spikeSeeker) begin(p *pattern, stepS float64) {
	s.turn, s.last, s.isEnough = nil, sparkS/stepS, false
	s.bySpeed, s.turns = map[int]spikeProfile{}, map[int]int{}
	if p.wheel.Pitches >= profilePitches {
		s.turn = make([]extent, profileCells*p.wheel.Pitches)
	}
}

// reset is for another turn.
func (s *spikeSeeker) reset() { clear(s.turn) }

// look takes an interval between two teeth, so many pitches behind a place of the wheel.
func (s *spikeSeeker) look(w *window, from, to float64, place, pitches int) {
	cells := pitches * profileCells
	size := (to - from) / float64(cells)
	if s.turn == nil || s.isEnough || size*profileCells < perProfilePitch {
		return
	}
	course := newSmoothCourse(max(size, min(s.last, widestSpike*profileCells*size), narrowestSpike))
	first := float64(w.first)
	begin := int(math.Ceil(from - first))
	end := int(math.Ceil(to - first))
	if begin < course.reach || end+course.reach >= len(w.v) {
		return
	}
	s.sum(w.v[begin-course.reach : end+course.reach+1])
	shift := begin - course.reach
	for k := range cells {
		end := int(math.Ceil(from + float64(k+1)*size - first))
		s.turn[(place*profileCells+k)%len(s.turn)] = course.leaves(w.v[begin:end], s.sums, begin-shift)
		begin = end
	}
}

// place gives the turn under way to those at its speed.
func (s *spikeSeeker) place(t *turnSum) {
	key := profileKey(t.toothRPM)
	s.isEnough = s.turns[key] >= mostProfiled
	isOther := len(t.extents) != len(s.turn) // wheel
	if isOther || !slices.ContainsFunc(t.extents, func(e extent) bool { return e.isSeen }) {
		return
	}
	s.turns[key]++
	if s.bySpeed[key] == nil {
		s.bySpeed[key] = make(spikeProfile, len(s.turn))
	}
	s.bySpeed[key].add(t.extents)
}

func profileKey(rpm float64) int { return int(math.Floor(math.Log(rpm) / profileBin)) }

// sparkAt is the largest spark at a speed that comes at the same angle turn after turn.
func (s *spikeSeeker) sparkAt(rpm, stepV float64) float64 {
	key := profileKey(rpm)
	near := make(spikeProfile, len(s.turn))
	near.merge(s.bySpeed[key])
	for away := 1; away <= profileNear && near.turns() < enoughProfiled; away++ {
		near.merge(s.bySpeed[key-away])
		near.merge(s.bySpeed[key+away])
	}
	return near.spark(stepV)
}

// dips are those of the wheel's teeth, by all turns.
func (s *spikeSeeker) dips(p *pattern) []dip {
	all := make(spikeProfile, len(s.turn))
	for _, key := range slices.Sorted(maps.Keys(s.bySpeed)) {
		all.merge(s.bySpeed[key])
	}
	return all.dips(p)
}

// sum makes running sums of samples, about the first of them for the sake of precision.
func (s *spikeSeeker) sum(v []float64) {
	s.sums = slices.Grow(s.sums[:0], len(v)+1)[:len(v)+1]
	sum, sums := 0.0, s.sums[1:]
	s.sums[0] = 0
	for i, x := range v {
		sum += x
		sums[i] = sum
	}
}

// smoothCourse is the wave smoothened so that a polynomial of fifth order stays as it is:
// from the means over three stretches about each sample.
type smoothCourse struct {
	reach  int // samples on either side of the longest
	sides  [3]int
	weight [3]float64 // of their sums
}

// newSmoothCourse is one whose stretches are so long, twice and three times that. A
// mean over n samples is off by n²−1 times a 24th of the bend, and by a square in n² of
// the bend's bend: so at n² = 1, which is one sample, the parabola through three of them
// is not.
func newSmoothCourse(length float64) *smoothCourse {
	c := &smoothCourse{}
	var square [3]float64
	for i := range c.sides {
		c.sides[i] = (i + 1) * max(1, int(length/2))
		n := float64(2*c.sides[i] + 1)
		square[i], c.weight[i] = n*n, 1/n
	}
	c.reach = c.sides[2]
	for i := range c.weight {
		for j := range square {
			if j != i {
				c.weight[i] *= (1 - square[j]) / (square[i] - square[j])
			}
		}
	}
	return c
}

// leaves is how far samples go above and below it, by the running sums, in which they
// begin at an index.
func (c *smoothCourse) leaves(v, sums []float64, at int) extent {
	n := len(v)
	after0, before0 := sums[at+c.sides[0]+1:][:n], sums[at-c.sides[0]:][:n]
	after1, before1 := sums[at+c.sides[1]+1:][:n], sums[at-c.sides[1]:][:n]
	after2, before2 := sums[at+c.sides[2]+1:][:n], sums[at-c.sides[2]:][:n]
	up, down := 0.0, 0.0
	for i, x := range v {
		left := x - c.weight[0]*(after0[i]-before0[i]) - c.weight[1]*(after1[i]-before1[i]) - c.weight[2]*(after2[i]-before2[i])
		up, down = max(up, left), min(down, left)
	}
	return extent{float32(up), float32(-down), true}
}
