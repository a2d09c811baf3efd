package teeth

import (
	"cmp"
	"math"
	"slices"

	"armcurve/captures"
	"armcurve/captures/teeth/noise"
	"armcurve/captures/teeth/wheels"
)

const (
	steadyRipple  = 0.05 // up to which a tooth's weakness is the wheel's alone
	tellRipple    = 12   // teeth in a turn, from which they show how the speed ripples between them
	turnsAsFast   = 3    // at one speed of several, that the engine does not pass in a pull
	enoughTurns   = 40   // over which a tooth's relative height is averaged
	smallestSpike = 0.02 // of the peak
)

// readings makes one of each bin.
func (g *gatherer) readings(sensor string) []captures.Reading {
	all := g.bins.sorted()
	var list []captures.Reading
	disturbed := g.disturbed()
	levels := heardAt(all)
	for i := range all {
		list = append(list, g.reading(all, i, &levels[i], disturbed, sensor))
	}
	list = append(list, g.ends.readings(g, all, sensor)...)
	slices.SortStableFunc(list, func(a, b captures.Reading) int { return cmp.Compare(a.RPM, b.RPM) })
	return list
}

// endLeast is the part of the highest sample of all that teeth reach at least which
// the instrument cuts off; what the wave went far beyond later was not its end.
const endLeast = 0.6

func (g *gatherer) reading(all []*bin, i int, h *heard, disturbed []bool, sensor string) captures.Reading {
	b := all[i]
	teeth, turns := float64(b.teeth), float64(b.turns)
	allV := b.peakV / teeth * levelling(all, i)
	peakV := allV * b.undisturbed(g.pattern, disturbed)
	r := captures.Reading{
		Pos:           captures.Pos{File: g.info.File, AtS: captures.Some(b.firstS)},
		Sensor:        sensor,
		RPM:           b.rpm / teeth,
		PeakV:         captures.Finite(peakV),
		TeethMeasured: captures.Some(teeth),
		Ripple:        captures.Some(min(b.ripple/turns, 1)),
		HumpV:         captures.Finite(noise.Audible(b.humpV)),
		Clipped:       20*b.clipped > b.teeth && peakV > endLeast*(g.w.top-g.ring[newest].RestV),
	}
	if b.ripples() {
		r.PeakRPM = captures.Finite(b.peakRPM / teeth)
	}
	if !(peakV > 0) {
		r.PeakV = captures.Maybe{}
	} else {
		r.WeakestV = captures.Finite(allV * max(0, weakest(all, i, disturbed)))
		if b.variances > 0 {
			r.PeakSDV = captures.Finite(peakV * math.Sqrt(b.variance/float64(b.variances)))
		}
	}
	if h.ok {
		h.AddSpark(g.spikes.Highest(r.RPM, peakV, g.w.step))
		h.State(&r, g.info.StepS)
		r.ToneV = h.toneV
	}
	if r.SpikeV.Known && r.SpikeV.Value < smallestSpike*peakV {
		// The teeth beside are not quite alike.
		r.SpikeV = captures.Some(0)
	}
	return r
}

// undisturbed is the mean height that all teeth would have, those after gaps apart, if
// those that something strikes were as high for their speed as the others; over that which
// was measured, which leaves out what is marred. 1 where too few are left.
func (b *bin) undisturbed(p *wheels.Pattern, disturbed []bool) float64 {
	var speed, count, height, ownSpeed, own float64 // of all; of those that nothing strikes
	whole := b.halves[0].with(&b.halves[1])
	for j, byPace := range whole.byPace {
		if p.AfterGap(j) && len(whole.byPace) > 1 {
			continue
		}
		speed, count = speed+byPace, count+1
		if !disturbed[j] {
			height, ownSpeed, own = height+whole.heights[j], ownSpeed+byPace, own+1
		}
	}
	if own < leastUndisturbed*count || own == count {
		return 1
	}
	return height / ownSpeed * speed / count / whole.peaks
}

// leastUndisturbed is the part of the teeth that speak for all.
const leastUndisturbed = 0.5

// weakest is the height of the lowest tooth over the mean at bin i. Means by
// tooth come from as many turns at speeds near by as are needed to quieten
// them; of a disturbed tooth no more is known than that it is one of them.
func weakest(all []*bin, i int, disturbed []bool) float64 {
	from, to := i, i+1
	turns := all[i].turns
	for turns < enoughTurns && (from > 0 || to < len(all)) {
		if from > 0 && (to == len(all) || all[i].rpmMean()/all[from-1].rpmMean() < all[to].rpmMean()/all[i].rpmMean()) {
			from--
			turns += all[from].turns
		} else {
			turns += all[to].turns
			to++
		}
	}
	b := all[i]
	levels := meanLevels(all[from:to])
	for j, is := range disturbed {
		if is {
			levels[j] = 1
		}
	}
	lowest := slices.Min(levels)
	switch {
	case b.ripples():
		lowest = b.lowest(levels, (*cycleHalf).lowestV)
	case len(levels) < tellRipple && (len(all) == 1 || b.turns >= turnsAsFast) && !slices.Contains(disturbed, true):
		// Nor is it that the engine speeds up, which makes the teeth of a turn unlike too.
		lowest = b.lowest(levels, (*cycleHalf).lowestMeanV)
	}
	if b.odd > 0 {
		lowest = min(lowest, b.odd)
	}
	return lowest
}

// lowest is the height of the lowest tooth over the mean where the speed ripples, or may
// do so unseen, in either turn of the engine's cycle.
func (b *bin) lowest(levels []float64, ofHalf func(h *cycleHalf, levels []float64, variance float64) float64) float64 {
	lowestV := math.Inf(1)
	for i := range b.halves {
		if h := &b.halves[i]; h.turns > 0 {
			lowestV = min(lowestV, ofHalf(h, levels, b.meanVariance()))
		}
	}
	return lowestV / (b.peakV / float64(b.teeth))
}

// chanceOf is the square of what noise makes the lowest of some means over turns
// deviate, a half of it.
func chanceOf(means, turns int, variance float64) float64 {
	return math.Log(float64(means)) * variance / float64(turns)
}

// unexplained is what is left of a deviation when what chance makes is taken from it
// (L. Breiman, Technometrics 37, 1995, 373: the nonnegative garrote).
func unexplained(d, chance float64) float64 {
	if d == 0 {
		return 0
	}
	return d * max(0, 1-chance/(d*d))
}

// meanLevels is the mean height of each tooth at its speed, relative, over some
// bins. Of many noisy means the lowest is lower than any tooth; so what a mean
// deviates is taken as far as noise does not account for it.
func meanLevels(some []*bin) []float64 {
	levels := make([]float64, len(some[0].level))
	turns, variance, variances := 0, 0.0, 0
	for _, b := range some {
		turns += b.turns
		variance, variances = variance+b.variance, variances+b.variances
		for j, level := range b.level {
			levels[j] += level
		}
	}
	chance := chanceOf(len(levels), turns, variance/float64(max(1, variances)))
	for j := range levels {
		levels[j] = 1 + unexplained(levels[j]/float64(turns)-1, chance)
	}
	return levels
}

// ripples tells that the speed within a turn shows in the heights of the teeth.
func (b *bin) ripples() bool { return b.ripple/float64(b.turns) > steadyRipple }

func (b *bin) rpmMean() float64 { return b.rpm / float64(b.teeth) }
