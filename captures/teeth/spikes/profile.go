package spikes

import (
	"math"

	"armcurve/captures"
	"armcurve/captures/teeth/median"
)

// profile has the narrow rises of the wave over its own course, the largest at each place
// of the wheel's turn. What comes at the same angle in every turn, as a spark does, is
// hidden from those that compare turns, and where a gap is near or the speed changes
// from tooth to tooth also from those that compare teeth. But it is narrower than a tooth,
// by far while the engine is slow.
type profile []profileCell

// profileCell is what was seen at one place.
type profileCell struct {
	up, down float32 // sums over turns of how far the wave goes above and below its course, volts
	highest  float32
	n        float32 // turns
}

func (c *profileCell) meanUp() float64   { return float64(c.up / max(1, c.n)) }
func (c *profileCell) meanDown() float64 { return float64(c.down / max(1, c.n)) }

// profileCells is the number of places in a pitch.
const profileCells = 16

// add takes a turn.
func (s profile) add(turn []Extent) {
	for i, e := range turn {
		if c := &s[i]; e.isSeen {
			c.up, c.down, c.n = c.up+e.up, c.down+e.down, c.n+1
			c.highest = max(c.highest, e.up)
		}
	}
}

func (s profile) merge(o profile) {
	for i := range o {
		c := &s[i]
		c.up, c.down, c.n = c.up+o[i].up, c.down+o[i].down, c.n+o[i].n
		c.highest = max(c.highest, o[i].highest)
	}
}

// turns is the number of turns in which a place was seen, the mean over all.
func (s profile) turns() float64 {
	sum := 0.0
	for i := range s {
		sum += float64(s[i].n)
	}
	return sum / float64(max(1, len(s)))
}

const (
	lockedTurns  = 3   // that tell whether something comes again
	lockedSurely = 6   // standard deviations of the places' means, beyond which chance has none
	lockedBeyond = 0.5 // of what noise goes beyond the course
	// narrower is how many times as much a tooth's form leaves where the tooth is somewhat
	// narrower and higher than usual: that grows with a high power of its slope.
	narrower    = 4
	besideSpike = 3   // places
	rebound     = 0.5 // of a fall, which draws the course down and so leaves a rise beside it
)

// spark is the highest rise at a place that something strikes turn after turn; 0 for
// none. It is none that a tooth's own form leaves, as that is at other teeth as well,
// nor what the instrument's step does, nor the wheel at a place.
func (s profile) spark(stepV float64, ownV []float64) (highest float64) {
	usual := s.usual((*profileCell).meanUp)
	quiet := median.Of(usual)
	off := make([]float64, 0, len(s))
	for i := range s {
		if s[i].n > 0 {
			off = append(off, math.Abs(s[i].meanUp()-usual[i%profileCells]))
		}
	}
	chance := lockedSurely * median.Deviation * median.Of(off)
	for i := range s {
		mean, turns, form := s[i].meanUp(), float64(s[i].n), usualAbout(usual, i%profileCells)
		if turns < lockedTurns || mean < rebound*s.fallAbout(i) {
			continue
		}
		if mean-quiet > max(chance*(1+1/math.Sqrt(turns)), lockedBeyond*quiet, stepV)+narrower*max(0, form-quiet)+ownV[i] {
			highest = max(highest, float64(s[i].highest)+max(0, s.drawnUp(i)-quiet))
		}
	}
	return highest
}

// drawnUp is by how much a rise at a place draws the course up: that lies as far above
// the wave beside, on either side, as a spark that swings down shows on one.
func (s profile) drawnUp(i int) float64 {
	before, after := 0.0, 0.0
	for d := 1; d <= besideSpike; d++ {
		before = max(before, s[(i-d+len(s))%len(s)].meanDown())
		after = max(after, s[(i+d)%len(s)].meanDown())
	}
	return min(before, after)
}

// usual is the median of what all pitches have at each place in one.
func (s profile) usual(of func(*profileCell) float64) []float64 {
	usual := make([]float64, profileCells)
	var alike []float64
	for k := range usual {
		alike = alike[:0]
		for i := k; i < len(s); i += profileCells {
			if s[i].n > 0 {
				alike = append(alike, of(&s[i]))
			}
		}
		usual[k] = median.Of(alike)
	}
	return usual
}

// usualAbout is the highest usual mean at a place in a pitch and those beside it: teeth
// do not stand quite at the same places.
func usualAbout(usual []float64, k int) float64 {
	n := len(usual)
	return max(usual[(k+n-1)%n], usual[k], usual[(k+1)%n])
}

// fallAbout is how far the wave goes below its course at a place or beside it, the mean
// over turns.
func (s profile) fallAbout(i int) (most float64) {
	for _, d := range []int{len(s) - 1, 0, 1} {
		most = max(most, s[(i+d)%len(s)].meanDown())
	}
	return most
}

// dip is by how much more than usual the wave falls narrowly below its course on a tooth's
// lobe, and in the half of a pitch behind it; what is usual of that at all teeth.
type dip struct{ Top, Behind, usual float64 }

// Told tells that it is more than what chance or the tooth's form make.
func (d *dip) Told() bool { return max(d.Top, d.Behind) > dipLeast*d.usual }

const dipLeast = 1

// dips are those of the wheel's teeth.
func (s profile) dips(w captures.Wheel) []dip {
	usual := s.usual((*profileCell).meanDown)
	all := make([]dip, w.TeethPresent())
	for j := range all {
		all[j].usual = median.Of(usual)
		for k := -profileCells / 2; k < profileCells/2 && len(s) > 0; k++ {
			i := (w.Positions[j]*profileCells + k + len(s)) % len(s)
			more := s[i].meanDown() - usual[i%profileCells]
			if k < 0 {
				all[j].Top = max(all[j].Top, more)
			} else {
				all[j].Behind = max(all[j].Behind, more)
			}
		}
	}
	return all
}
