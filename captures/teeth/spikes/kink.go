package spikes

import (
	"math"

	"armcurve/captures"
)

// A wave may end at once where a gap begins, half a pitch behind the last tooth, and begin
// so before the first one behind it. Such a kink is of the wheel's own making, but no
// other teeth have it, and a smooth course cuts the corner.

const (
	// steepest is the slope in which a wave of height 1 ends at most, in a pitch: a sine's
	// at its zero, and half as much more for narrower lobes.
	steepest = 1.5 * 2 * math.Pi
	// unsure is how far from its place a kink may lie, as speed changes over the gap, in
	// places; with half a one for the place's own width.
	unsure = 1.5 + 0.5
)

// kinks is what kinks leave at most at each place of a wheel, for a wave of height 1 and
// a course by stretches of so many places.
func kinks(w captures.Wheel, stretch float64) []float64 {
	most := make([]float64, profileCells*w.Pitches)
	for j, p := range w.Positions {
		next := w.Positions[(j+1)%len(w.Positions)]
		if pitches := (next-p+w.Pitches-1)%w.Pitches + 1; pitches > 1 {
			addKink(most, p*profileCells+profileCells/2, stretch)
			addKink(most, next*profileCells-profileCells/2, stretch)
		}
	}
	return most
}

// addKink is for a kink between two places.
func addKink(most []float64, edge int, stretch float64) {
	c := newSmoothCourse(kinkFinely * stretch)
	reach := int(math.Ceil(float64(c.reach)/kinkFinely + unsure))
	for k := -reach; k < reach; k++ {
		i := (edge + k + len(most)) % len(most)
		most[i] = max(most[i], steepest/profileCells*c.cutsOff(float64(k)+0.5)/kinkFinely)
	}
}

// kinkFinely is the number of points to a place at which a kink's course is reckoned.
const kinkFinely = 8

// cutsOff is by how much the course misses a kink of slope 1 somewhere near so many
// places from it, in points.
func (c *smoothCourse) cutsOff(places float64) (most float64) {
	for x := kinkFinely * (places - unsure); x <= kinkFinely*(places+unsure); x++ {
		left := max(0, x)
		for i, side := range c.sides {
			half := float64(side) + 0.5
			left -= c.weight[i] * 2 * half * rampMean(x, half)
		}
		most = max(most, math.Abs(left))
	}
	return most
}

// rampMean is the mean over a stretch about a place of what is 0 before 0 and rises by 1
// in 1 from there.
func rampMean(x, half float64) float64 {
	switch {
	case x <= -half:
		return 0
	case x >= half:
		return x
	}
	return (x + half) * (x + half) / (4 * half)
}
