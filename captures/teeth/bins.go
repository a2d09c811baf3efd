package teeth

import (
	"math"
	"slices"

	"armcurve/captures"
	"armcurve/captures/teeth/lobes"
	"armcurve/captures/teeth/noise"
)

// binWidth is the breadth of a speed bin, in the logarithm of speed: an
// amplitude curve bends by far less than a percent over it.
const binWidth = 0.025

// bins hold turns by speed.
type bins struct {
	byKey map[int]*bin
	slots int
	last  int // key of the last turn's
}

// bin is the sum over the turns of one narrow range of speed.
type bin struct {
	turns, teeth int
	gradual      int // turns whose teeth show how their speed went
	firstS       float64
	low, high    float64 // rpm of turns
	rpm          float64 // sums over turns, weighted by their teeth
	peakRPM      float64
	peakV        float64
	ripple       float64 // sums over turns
	variance     float64
	variances    int
	humpV        float64 // largest, NaN none
	odd          float64
	clipped      int
	level        []float64 // sums by slot
	seenPace     []float64
	paced        int // turns in that
	halves       [2]cycleHalf
	noise        noise.AtSpeed
	lobes        *lobes.Sum // nil where they were not matched
}

// add puts a turn into its bin, all but its noise, and gives that and the bin of the turn
// added before, if there is one.
func (b *bins) add(t *turnSum, slots int) (own, before *bin) {
	if b.byKey == nil || b.slots != slots {
		b.byKey, b.slots = map[int]*bin{}, slots
	}
	before = b.byKey[b.last]
	b.last = int(math.Floor(math.Log(t.toothRPM) / binWidth))
	own = b.byKey[b.last]
	if own == nil {
		own = newBin(t.start, slots)
		b.byKey[b.last] = own
	}
	own.add(t)
	return own, before
}

func newBin(firstS float64, slots int) *bin {
	return &bin{firstS: firstS, low: math.Inf(1), humpV: math.NaN(), level: make([]float64, slots), seenPace: make([]float64, slots), halves: [2]cycleHalf{newCycleHalf(slots), newCycleHalf(slots)}}
}

func (b *bin) add(t *turnSum) {
	b.turns++
	if t.gradual {
		b.gradual++
	}
	b.teeth += t.teeth
	b.low, b.high = min(b.low, t.toothRPM), max(b.high, t.toothRPM)
	weight := float64(t.teeth)
	b.rpm += weight * t.toothRPM
	b.peakRPM += weight * t.peakRPM
	b.peakV += weight * t.peakV
	b.ripple += t.ripple
	if !math.IsNaN(t.variance) {
		b.variance += t.variance
		b.variances++
	}
	b.humpV = larger(b.humpV, t.humpV)
	b.odd = lesser(b.odd, t.odd)
	b.clipped += t.clipped
	for j := range t.level {
		b.level[j] += t.level[j]
	}
	for j, pace := range t.seenPace {
		b.seenPace[j] += pace
	}
	if t.seenPace != nil {
		b.paced++
	}
	b.halves[t.half].add(t)
	b.addLobes(t.lobes)
}

func (b *bin) addLobes(some *lobes.Sum) {
	switch {
	case some == nil:
	case b.lobes == nil:
		own := *some
		b.lobes = &own
	default:
		b.lobes.Merge(some)
	}
}

// meanVariance is that of a single tooth's height about its mean; 0 where not known.
func (b *bin) meanVariance() float64 { return b.variance / float64(max(1, b.variances)) }

func (b *bin) merge(o *bin) {
	b.turns += o.turns
	b.gradual += o.gradual
	b.teeth += o.teeth
	b.firstS = min(b.firstS, o.firstS)
	b.low, b.high = min(b.low, o.low), max(b.high, o.high)
	b.rpm += o.rpm
	b.peakRPM += o.peakRPM
	b.peakV += o.peakV
	b.ripple += o.ripple
	b.variance += o.variance
	b.variances += o.variances
	b.humpV = larger(b.humpV, o.humpV)
	b.odd = lesser(b.odd, o.odd)
	b.clipped += o.clipped
	for j := range o.level {
		b.level[j] += o.level[j]
		b.seenPace[j] += o.seenPace[j]
	}
	b.paced += o.paced
	for i := range b.halves {
		b.halves[i].merge(&o.halves[i])
	}
	b.noise.Merge(&o.noise)
	b.addLobes(o.lobes)
}

// larger is the larger of two, NaN standing for none.
func larger(a, b float64) float64 {
	if math.IsNaN(a) || b > a {
		return b
	}
	return a
}

// lesser is the smaller of two, 0 standing for none.
func lesser(a, b float64) float64 {
	if a == 0 || b != 0 && b < a {
		return b
	}
	return a
}

// stray tells that a bin holds a single turn at a speed that no other turn of
// several came near, and whose teeth do not show how it got there: more likely teeth
// miscounted than the engine's doing.
func (b *bins) stray(keys []int, i int) bool {
	const near = 8 // bins
	beside := i > 0 && keys[i]-keys[i-1] <= near || i+1 < len(keys) && keys[i+1]-keys[i] <= near
	turns := 0
	for _, o := range b.byKey {
		turns += o.turns
	}
	return b.byKey[keys[i]].turns == 1 && b.byKey[keys[i]].gradual == 0 && !beside && turns >= 5
}

// steadyRange is the ratio of the fastest to the slowest turn up to which a
// capture is one of steady speed.
const steadyRange = 1.10

// sorted lists the bins by speed: a single one for a steady capture.
func (b *bins) sorted() []*bin {
	keys := make([]int, 0, len(b.byKey))
	for k := range b.byKey {
		keys = append(keys, k)
	}
	slices.Sort(keys)
	var all []*bin
	for i, k := range keys {
		if !b.stray(keys, i) {
			all = append(all, b.byKey[k])
		}
	}
	if len(all) > 1 && all[len(all)-1].high <= steadyRange*all[0].low {
		whole := newBin(all[0].firstS, b.slots)
		for _, o := range all {
			whole.merge(o)
		}
		return []*bin{whole}
	}
	return all
}

// measured are the sorted ones in which the wave rises at teeth that were measured.
func (b *bins) measured() []*bin {
	return slices.DeleteFunc(b.sorted(), func(o *bin) bool { return !(o.peakV > 0) })
}

// powerTo is the power of speed that the amplitude follows from one measured bin to a
// faster one.
func (b *bin) powerTo(o *bin) float64 {
	ratio := (o.peakV / float64(o.teeth)) / (b.peakV / float64(b.teeth))
	return math.Log(ratio) / math.Log(o.rpmMean()/b.rpmMean())
}

// lowestRipple is the mean ripple of the turns up to a speed, or of the slowest
// bin where there are none.
func (g *gatherer) lowestRipple(upToRPM float64) captures.Maybe {
	sum, turns := 0.0, 0
	for _, b := range g.bins.sorted() {
		if turns > 0 && b.rpmMean() > upToRPM {
			break
		}
		sum += b.ripple
		turns += b.turns
	}
	return captures.Finite(sum / float64(turns))
}
