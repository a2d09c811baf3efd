package replay

import (
	"fmt"
	"slices"
)

// blockTeeth are looked at together where no wheel is known and with it no speed:
// about as many as pass while an engine's speed hardly changes.
const blockTeeth = 32

// fewOdd of these may be no teeth or hidden, and as many times something rise beside them
// that is no noise: of a cam, whose pulses keep the wheel from being told, or of sparks.
// Noise is everywhere.
const fewOdd = 3

// blocks tell whether any threshold could part the teeth from what is none: none
// can amid teeth side by side where the lower of them are not as high as that.
type blocks struct {
	toothV, unwantedV []float64 // of the block under way

	all                 int       // blocks so far
	shutTeeth, shutNone []float64 // of those without any threshold: volts of a low tooth, and of what is none and high
}

// tooth adds one with the highest arch beside it that is none.
func (b *blocks) tooth(heightV, otherV float64) {
	b.toothV, b.unwantedV = append(b.toothV, heightV), append(b.unwantedV, otherV)
	if len(b.toothV) < blockTeeth {
		return
	}
	slices.Sort(b.toothV)
	slices.Sort(b.unwantedV)
	lowV, highV := b.toothV[fewOdd], b.unwantedV[blockTeeth-1-fewOdd]
	b.toothV, b.unwantedV = b.toothV[:0], b.unwantedV[:0]
	b.all++
	if highV >= lowV {
		b.shutTeeth, b.shutNone = append(b.shutTeeth, lowV), append(b.shutNone, highV)
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
		Evidence: fmt.Sprintf("in %d of %d stretches of %d teeth noise rises at least as high as low teeth, usually to %s where those have %s: whatever threshold counts all the teeth counts noise",
			n, b.all, blockTeeth, volts(b.shutNone[n/2]), volts(b.shutTeeth[n/2])),
		Advice: "Reduce the noise at its source, or the air gap, first; with the wheel stated the faults are counted by speed",
		Not:    "Do not change the table before",
	}
}
