// Package tops tells of the tops of a wave how high they are and whether they are flat,
// as a clamp or the end of an instrument's range leaves them.
package tops

import "slices"

const (
	fewestAtTop = 6    // samples that show a shape
	flatRatio   = 0.95 // of the upper quartile that the middle of the top reaches
)

// Of is how high the wave mostly is, in volts from restV to one side of it (1 above, -1
// below), where it is high, and whether it is flat there. High is more than half of what
// it exceeds for a tenth of the time: the highest of many teeth, as one behind a gap, may
// be nearly twice the others. It is looked at in so many places, of one lobe or many.
//
// The middle of a round top reaches 0.90 of the upper quartile (of a sine: cos 30° and
// cos 15°). Of one that is cut off, both are where it is cut off: whether a clamp lets a
// little more through or noise came on top moves them hardly apart. Samples alone would
// often have both be twins to the left and right of the top, or, in step with the
// wheel, the same one of each tooth: so the wave goes straight between them.
func Of(v []float64, restV, side float64, places int) (heightV float64, isFlat bool) {
	if len(v) == 0 {
		return 0, false
	}
	some := make([]float64, places)
	step := float64(len(v)-1) / float64(places)
	for k := range some {
		at := (float64(k) + 0.5) * step
		i := int(at)
		a, b := v[i], v[min(i+1, len(v)-1)]
		some[k] = side * (a + (at-float64(i))*(b-a) - restV)
	}
	slices.Sort(some)
	high := some[places-1-places/10]
	if !(high > 0) {
		return 0, false
	}
	half, _ := slices.BinarySearch(some, high/2)
	top := some[half:]
	n := len(top)
	heightV = top[n/2]
	return heightV, float64(n)*step >= fewestAtTop && heightV > flatRatio*top[n-1-n/4]
}
