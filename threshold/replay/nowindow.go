package replay

import (
	"fmt"
	"math"
	"slices"
)

// blockTeeth are looked at together where no wheel is known and with it no speed:
// about as many as pass while an engine's speed hardly changes.
const blockTeeth = 32

// blocks tell whether any threshold could part the teeth from what is none: none
// can amid teeth side by side where the lowest of them is not as high as that.
type blocks struct {
	teeth               int // in the block under way
	weakestV, unwantedV float64

	all                 int       // blocks so far
	shutTeeth, shutNone []float64 // of those without any threshold: volts of the lowest tooth, and of the highest that is none
}

// tooth adds one with the highest arch beside it that is none.
func (b *blocks) tooth(heightV, otherV float64) {
	if b.teeth == 0 {
		b.weakestV, b.unwantedV = math.Inf(1), 0
	}
	b.teeth++
	b.weakestV, b.unwantedV = min(b.weakestV, heightV), max(b.unwantedV, otherV)
	if b.teeth < blockTeeth {
		return
	}
	b.teeth = 0
	b.all++
	if b.unwantedV >= b.weakestV {
		b.shutTeeth, b.shutNone = append(b.shutTeeth, b.weakestV), append(b.shutNone, b.unwantedV)
	}
}

// shutShare is the part of the blocks without a threshold from which noise is the
// trouble: a tooth may be mistaken now and then in any wave.
const shutShare = 0.25

// areShut tells that noise leaves no room for a threshold.
func (b *blocks) areShut() bool {
	return len(b.shutTeeth) > 0 && float64(len(b.shutTeeth)) >= shutShare*float64(b.all)
}

// noWindow is the cause where noise rises as high as the teeth.
func (b *blocks) noWindow() Cause {
	slices.Sort(b.shutTeeth)
	slices.Sort(b.shutNone)
	n := len(b.shutTeeth)
	return Cause{
		Kind: NoiseAbove, Share: 1,
		Evidence: fmt.Sprintf("in %d of %d stretches of %d teeth noise rises at least as high as the lowest tooth, usually to %s where that has %s: whatever threshold counts all the teeth counts noise",
			n, b.all, blockTeeth, volts(b.shutNone[n/2]), volts(b.shutTeeth[n/2])),
		Advice: "Reduce the noise at its source, or the air gap, first; with the wheel stated the faults are counted by speed",
		Not:    "Do not change the table before",
	}
}
