// Package spikes finds narrow rises of the wave that come at the same angle in turn after
// turn, as of sparks: comparing turns, or teeth, would hide them.
package spikes

import (
	"maps"
	"math"
	"slices"

	"armcurve/captures"
)

// Finder looks for narrow rises in the wave of the turn under way.
type Finder struct {
	wheel captures.Wheel
	stepS float64
	turn  []Extent  // by the place in the wheel's turn; nil: not looked for
	sums  []float64 // running ones of the wave

	bySpeed  map[int]profile
	turns    map[int]int // by speed
	isEnough bool        // of them, at the speed of the turn before
}

// Extent is how far the wave goes above and below its smooth course.
type Extent struct {
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

// Begin is for another wheel.
func (s *Finder) Begin(w captures.Wheel, stepS float64) {
	s.wheel, s.stepS, s.turn, s.isEnough = w, stepS, nil, false
	s.bySpeed, s.turns = map[int]profile{}, map[int]int{}
	if w.Pitches >= profilePitches {
		s.turn = make([]Extent, profileCells*w.Pitches)
	}
}

// Reset is for another turn.
func (s *Finder) Reset() { clear(s.turn) }

// Look takes an interval between two teeth, so many pitches behind a place of the wheel,
// of what is held of the wave from a first position on.
func (s *Finder) Look(first int64, v []float64, from, to float64, place, pitches int) {
	cells := pitches * profileCells
	size := (to - from) / float64(cells)
	if s.turn == nil || s.isEnough || size*profileCells < perProfilePitch {
		return
	}
	course := newSmoothCourse(s.stretch(size))
	origin := float64(first)
	begin := int(math.Ceil(from - origin))
	end := int(math.Ceil(to - origin))
	if begin < course.reach || end+course.reach >= len(v) {
		return
	}
	s.sum(v[begin-course.reach : end+course.reach+1])
	shift := begin - course.reach
	for k := range cells {
		end := int(math.Ceil(from + float64(k+1)*size - origin))
		s.turn[(place*profileCells+k)%len(s.turn)] = course.leaves(v[begin:end], s.sums, begin-shift)
		begin = end
	}
}

// stretch is the samples that a spark takes, of places of so many.
func (s *Finder) stretch(size float64) float64 {
	return max(size, min(sparkS/s.stepS, widestSpike*profileCells*size), narrowestSpike)
}

// Extents are those of the turn under way, by the place in it.
func (s *Finder) Extents() []Extent { return s.turn }

// EndTurn gives a turn to those at its speed.
func (s *Finder) EndTurn(rpm float64, turn []Extent) {
	key := profileKey(rpm)
	s.isEnough = s.turns[key] >= mostProfiled
	isOther := len(turn) != len(s.turn) // wheel
	if isOther || !slices.ContainsFunc(turn, func(e Extent) bool { return e.isSeen }) {
		return
	}
	s.turns[key]++
	if s.bySpeed[key] == nil {
		s.bySpeed[key] = make(profile, len(s.turn))
	}
	s.bySpeed[key].add(turn)
}

func profileKey(rpm float64) int { return int(math.Floor(math.Log(rpm) / profileBin)) }

// Highest is the largest spark at a speed that comes at the same angle turn after turn,
// where teeth are so high and the instrument's steps so.
func (s *Finder) Highest(rpm, peakV, stepV float64) float64 {
	key := profileKey(rpm)
	near := make(profile, len(s.turn))
	near.merge(s.bySpeed[key])
	for away := 1; away <= profileNear && near.turns() < enoughProfiled; away++ {
		near.merge(s.bySpeed[key-away])
		near.merge(s.bySpeed[key+away])
	}
	size := 60 / rpm / s.stepS / float64(len(s.turn)) // of a place
	own := kinks(s.wheel, s.stretch(size)/size)
	for i := range own {
		own[i] *= peakV
	}
	return near.spark(stepV, own)
}

// Dips are those of the wheel's teeth, by all turns.
func (s *Finder) Dips(w captures.Wheel) []dip {
	all := make(profile, len(s.turn))
	for _, key := range slices.Sorted(maps.Keys(s.bySpeed)) {
		all.merge(s.bySpeed[key])
	}
	return all.dips(w)
}

// sum makes running sums of samples, about the first of them for the sake of precision.
func (s *Finder) sum(v []float64) {
	s.sums = slices.Grow(s.sums[:0], len(v)+1)[:len(v)+1]
	sum, sums := 0.0, s.sums[1:]
	s.sums[0] = 0
	for i, x := range v {
		sum += x
		sums[i] = sum
	}
}
