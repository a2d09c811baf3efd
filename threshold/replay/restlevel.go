package replay

import (
	"math"
	"slices"
)

const (
	restTeeth  = 200     // that the level is averaged over at least, if there are so many
	restBlock  = 40      // teeth that each level told is a mean over, or as many whole turns as that is
	restWait   = 1 << 18 // samples that the first teeth wait at most
	fewBlocks  = 5       // that tell how far they scatter
	mostBlocks = 1 << 10 // that are kept, whatever the capture's length: then every second one goes
	movedRest  = 4       // standard deviations of the level over the last teeth from that of all
	movedShare = 0.002   // of the teeth's height, by which it moves at least: lobes that are cut off unlike make as much
	sameShare  = 0.0005  // of that height, within which a level told anew is the same
)

// restLevel is the level that the wave is at without teeth, for the comparator. What a
// few turns tell of it holds some of their noise, and an input has none of it: so the
// first teeth wait until it is known, and as long as it does not move it is that of all.
// An input that is at its limit, with a threshold just beyond the teeth, would be set free
// by the least step of the level; so it makes none for what is told a little better.
type restLevel struct {
	levelV  float64
	waiting []tooth // the first ones
	known   bool

	met       float64 // teeth
	toldV     float64 // by the last one
	heightV   float64 // of the last ones, as far as it is known
	followedV float64 // over the last ones
	since     int     // teeth in the block under way
	blocks    blockLevels
}

// meet takes what a tooth tells; turn is the number of teeth in one. A level that is held,
// as the wave does not show it, tells nothing.
func (l *restLevel) meet(t tooth, turn int) {
	if t.restV == l.toldV && l.met > 0 {
		return
	}
	l.toldV = t.restV
	l.met = min(l.met+1, restTeeth)
	l.followedV += (t.restV - l.followedV) / l.met
	if !math.IsNaN(t.PeakV) {
		l.heightV += (t.PeakV - l.heightV) / l.met
	}
	block := restBlock
	if turn > 0 {
		block = max(1, restBlock/turn) * turn
	}
	if l.since++; l.since >= block {
		l.since = 0
		l.blocks.add(t.restV)
	}
	if levelV := l.told(block); math.Abs(levelV-l.levelV) > sameShare*l.heightV {
		l.levelV = levelV
	}
}

// told is the level of all the teeth since it moved last, or where they are few of the
// last ones.
func (l *restLevel) told(block int) float64 {
	if len(l.blocks.sorted) < fewBlocks {
		return l.followedV
	}
	scatterV := l.blocks.deviationV * math.Sqrt(float64(block)/(2*restTeeth)) // of the level over the last teeth
	if math.Abs(l.followedV-l.blocks.levelV) > max(movedRest*scatterV, movedShare*l.heightV) {
		l.blocks.sorted = l.blocks.sorted[:0]
		return l.followedV
	}
	return l.blocks.levelV
}

// blockLevels are the levels of blocks since it moved last. Some may be of a wave that was
// lost for a while, so it is the middle half that tells.
type blockLevels struct {
	sorted             []float64
	levelV, deviationV float64 // mean of the middle half; standard deviation of all
}

func (b *blockLevels) add(levelV float64) {
	const quartiles = 1.349 // their distance in a normal distribution
	at, _ := slices.BinarySearch(b.sorted, levelV)
	b.sorted = slices.Insert(b.sorted, at, levelV)
	if len(b.sorted) > mostBlocks {
		for i := range b.sorted[:len(b.sorted)/2] {
			b.sorted[i] = b.sorted[2*i+1]
		}
		b.sorted = b.sorted[:len(b.sorted)/2]
	}
	n := len(b.sorted)
	middle := b.sorted[n/4 : n-n/4]
	b.levelV = 0
	for _, v := range middle {
		b.levelV += v / float64(len(middle))
	}
	b.deviationV = (middle[len(middle)-1] - middle[0]) / quartiles
}

// wait keeps one of the first teeth; true when no more have to wait.
func (l *restLevel) wait(t tooth) bool {
	l.waiting = append(l.waiting, t)
	return len(l.waiting) >= restTeeth || t.at-l.waiting[0].at > restWait
}

// settle takes what those that waited tell. What the first few do was told of less than
// a block.
func (l *restLevel) settle(turn int) {
	l.known = true
	told := l.waiting
	if first := max(restBlock, turn); len(told) > first {
		told = told[first:]
	}
	for _, t := range told {
		l.meet(t, turn)
	}
}
