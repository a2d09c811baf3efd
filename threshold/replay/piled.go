package replay

import "math"

const (
	piledWithin = 0.003 // of the highest sample: teeth nearer to it stand at it
	piledSpeeds = 1.25  // ratio of the speeds over which they do: no sensor levels off as far
)

// piled tells of the misses that stand at the highest sample, where the mean tooth does
// over so wide a range of speeds that any sensor's own wave would have changed by more: an
// end cut them off, though it be so little that their tops do not look flat.
func (q *inquiry) piled() func(*fault) bool {
	leastV := (1 - piledWithin) * q.topV
	low, high := math.Inf(1), 0.0
	for i := range q.waves {
		if b := &q.waves[i]; b.teeth > 0 && b.peaksV > leastV*float64(b.teeth) {
			low, high = min(low, b.lowRPM), max(high, b.highRPM)
		}
	}
	return func(f *fault) bool {
		rpm := float64(f.rpm)
		return high > piledSpeeds*low && !f.is(isFalse) && !f.isLost() && !f.follows() && rpm >= low && rpm <= high && height(f) > leastV
	}
}
