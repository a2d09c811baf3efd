package replay

import (
	"fmt"
	"maps"
	"slices"
)

// atTheEnd is the part of the highest sample at which flat tops are cut off by the same
// end: a clamp lets a little more through the larger the wave is, and noise comes on top.
const atTheEnd = 0.9

// farBelow is the part of the highest sample up to which a flat top is none that an end cut off.
const farBelow = 0.8

// areFlatByShape tells that missed teeth far below the highest sample mostly have flat tops
// as well: it is the shape of this wheel's teeth.
func areFlatByShape(missed hits, topV float64) bool {
	low, _ := missed.part(func(f *fault) bool { return height(f) < farBelow*topV })
	flat, _ := low.part(func(f *fault) bool { return f.is(flatTop) })
	return len(flat) >= leastFaults && 2*len(flat) > len(low)
}

const (
	apartShare  = 0.002 // of their height, by which teeth differ at least that have heights of their own
	apartSurely = 3     // times the variance that chance makes in what is met of each tooth
)

// haveOwnHeights tells that each tooth rises to a height of its own, turn by turn, whatever
// its top is like: an end cuts off all of them at the same.
func haveOwnHeights(missed hits) bool {
	own := map[uint16]*spread{}
	for _, f := range missed {
		if own[f.tooth] == nil {
			own[f.tooth] = new(spread)
		}
		own[f.tooth].add(height(f))
	}
	var means, chances spread // of the teeth; the variances of these
	for _, tooth := range slices.Sorted(maps.Keys(own)) {
		if own[tooth].n > 1 {
			mean, variance := own[tooth].of()
			means.add(mean)
			chances.add(variance)
		}
	}
	if means.n < 2 {
		return false
	}
	mean, _ := means.of()
	variance := means.squares/means.n - mean*mean
	chance := chances.sum / chances.n
	return variance > apartSurely*chance && variance-chance > apartShare*apartShare*mean*mean
}

// studyClipped: the instrument ran out of range below the threshold, so the
// replay misses teeth that the input may well have counted; or a clamp holds the wave
// below it.
func studyClipped(q *inquiry) opinion {
	flat := q.which(func(f *fault) bool { return f.is(flatTop) })
	recordedV := func(f *fault) float64 { return float64(f.partV) }
	topV := q.topV
	if q.filter != nil {
		topV = q.recordedV
	}
	shaped := areFlatByShape(q.which(func(f *fault) bool { return !f.is(isFalse) && !f.isLost() && !f.follows() }), q.topV)
	piled := q.piled()
	if q.filter == nil {
		shaped = shaped || haveOwnHeights(flat)
	}
	return opinion{
		explains: func(f *fault) bool {
			return !shaped && f.is(flatTop) && recordedV(f) > atTheEnd*topV || q.filter == nil && piled(f)
		},
		evidence: func(h hits) string {
			if flat, _ := h.part(func(f *fault) bool { return f.is(flatTop) }); 2*len(flat) < len(h) {
				return fmt.Sprintf("the peaks stop at %s at any speed, where the instrument's range ends or a clamp holds them; the threshold there is %s, %s",
					volts(h.median(height)), volts(h.median(thresholdOf)), h.between())
			}
			return fmt.Sprintf("the peaks stand flat at %s, where the instrument's range ends or a clamp holds them; the threshold there is %s, %s",
				volts(h.median(recordedV)), volts(h.median(thresholdOf)), h.between())
		},
		excluded: fmt.Sprintf("%d of the missed teeth have a flat top; the highest sample is %s", len(flat), volts(topV)),
		advice: "Record again with a wider range or a ×10 probe: what the input saw above this level is not in the capture; " +
			"if it stands flat there still, a clamp holds it, and the table must stay below",
		not:     "Do not lower the table before it is known which of the two it is",
		evident: true,
	}
}
