package teeth

import (
	"math"
	"slices"
)

// cycleHalf is one of the two turns of the crank that an engine's cycle lasts, over the turns
// of one bin. With three cylinders, or with uneven ones, the compressions of the one slow
// other teeth than those of the other: means over both would be of teeth that pass now
// slowly, now fast, and show none as low as it gets.
type cycleHalf struct {
	turns   int
	peaks   float64   // sum over turns: their mean peak, volts
	leastV  float64   // the least of it
	byPace  []float64 // sums by slot: the heights that their speeds alone would give the teeth
	heights []float64 // and those measured, volts
}

func newCycleHalf(slots int) cycleHalf {
	return cycleHalf{byPace: make([]float64, slots), heights: make([]float64, slots), leastV: math.Inf(1)}
}

func (h *cycleHalf) add(t *turnSum) {
	h.turns++
	h.peaks += t.peakV
	h.leastV = min(h.leastV, t.peakV)
	for j, pace := range t.pace {
		h.byPace[j] += t.peakV * pace
		h.heights[j] += t.peakV * t.relative[j]
	}
}

// with is the sum of both halves.
func (h cycleHalf) with(o *cycleHalf) cycleHalf {
	h.byPace, h.heights = slices.Clone(h.byPace), slices.Clone(h.heights)
	h.merge(o)
	return h
}

func (h *cycleHalf) merge(o *cycleHalf) {
	h.turns += o.turns
	h.peaks += o.peaks
	h.leastV = min(h.leastV, o.leastV)
	for j, v := range o.byPace {
		h.byPace[j] += v
		h.heights[j] += o.heights[j]
	}
}

// lowestV is the height of the lowest tooth where the speed ripples, volts: in the slowest
// turn it is lower than in their mean by as much as the others.
func (h *cycleHalf) lowestV(levels []float64, variance float64) float64 {
	meanV := h.peaks / float64(h.turns)
	return h.lowestMeanV(levels, variance) * (1 + unexplained(h.leastV/meanV-1, 2*chanceOf(h.turns, len(levels), variance)))
}

// lowestMeanV is the least mean height of a tooth, volts: by the speed that each passes
// at, and by how it was seen here, as far as noise does not account for that. Few teeth do
// not show how the speed goes between them. Behind a slow coil a fast tooth is low for its
// speed, and yet higher than the slow ones.
func (h *cycleHalf) lowestMeanV(levels []float64, variance float64) float64 {
	turns, lowest := float64(h.turns), math.Inf(1)
	meanV := h.peaks / turns
	chance := chanceOf(len(levels), h.turns, variance) * meanV * meanV
	for j, level := range levels {
		height := level * h.byPace[j] / turns
		lowest = min(lowest, height+unexplained(h.heights[j]/turns-height, chance))
	}
	return lowest
}
