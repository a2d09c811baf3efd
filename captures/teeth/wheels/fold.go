package wheels

import (
	"math"
	"slices"

	"armcurve/captures/teeth/median"
	"armcurve/captures/teeth/pulses"
)

// Where noise hides teeth, adds marks and shifts them, no order of intervals comes
// again. But the wheel turns on: a grid of even pitches follows it, and how strong
// the pulses on it are, a mean over several turns, shows which places hold a tooth.

const (
	foldLeast  = 160  // marks
	foldTurns  = 5    // at least, of the wheel looked for
	foldMost   = 130  // pitches in a turn
	onGrid     = 0.3  // pitches from its place that a mark may be
	mostOnGrid = 0.75 // of the marks have to be
	gridPhase  = 0.15 // gains of the loop that follows the wheel
	gridPitch  = 0.02
	toothLeast = 0.75 // of the usual strength, at a tooth
	gapMost    = 0.5  // and where there is none
)

// foldPattern finds a wheel by how strong the pulses at each of its places are on
// the average; nil where no number of places shows clearly.
func foldPattern(run []pulses.Mark) *Pattern {
	strength := gridOf(run)
	for n := FewTeeth; n <= foldMost && foldTurns*n <= len(strength); n++ {
		if p := foldedAt(strength, n); p != nil {
			return p
		}
	}
	return nil
}

// gridOf follows the wheel through a run of marks, and tells for each pitch how
// strong its pulse is, over what is usual about it; nil where too few marks keep
// to a grid.
func gridOf(run []pulses.Mark) []float64 {
	if len(run) < foldLeast {
		return nil
	}
	lengths, fluxes := make([]float64, len(run)-1), make([]float64, len(run))
	for i, m := range run {
		fluxes[i] = m.Flux
		if i > 0 {
			lengths[i-1] = m.At - run[i-1].At
		}
	}
	const near = 20
	usual := median.Running(fluxes, near)
	pitch, due := median.Of(lengths[:2*near]), run[0].At
	var strength []float64
	kept := 0
	for i, m := range run {
		for m.At > due+pitch/2 {
			strength = append(strength, 0)
			due += pitch
		}
		// The mark belongs to the place that is due, or to the one before.
		place, off := len(strength), (m.At-due)/pitch
		if off < -0.5 {
			place, off = place-1, off+1
		}
		if math.Abs(off) > onGrid || place < 0 {
			continue
		}
		kept++
		level := m.Flux / usual[i]
		if place == len(strength) {
			strength = append(strength, level)
			due += pitch
		} else {
			strength[place] = max(strength[place], level)
		}
		weight := min(level, 1)
		due += gridPhase * weight * off * pitch
		pitch *= 1 + gridPitch*weight*off
	}
	if float64(kept) < mostOnGrid*float64(len(run)) {
		return nil
	}
	return strength
}

// foldedAt lays strengths over each other after every n places; nil where that does
// not part those with a tooth from the others, or the gaps differ.
func foldedAt(strength []float64, n int) *Pattern {
	mean := foldedMeans(strength, n)
	var teeth []int
	for j, m := range mean {
		switch {
		case m > toothLeast:
			teeth = append(teeth, j)
		case m > gapMost:
			return nil
		}
	}
	if len(teeth) == n || 2*len(teeth) < n {
		return nil
	}
	// A turn of twice or three times as many would make means of teeth and gaps.
	for times := 2; times <= mostRepeats; times++ {
		for j, m := range foldedMeans(strength, times*n) {
			if m > toothLeast && mean[j%n] < gapMost {
				return nil
			}
		}
	}
	var pitches []int
	for i, j := range teeth {
		next := teeth[(i+1)%len(teeth)]
		pitches = append(pitches, (next-j+n-1)%n+1)
	}
	if p := New(pitches); p.usual() && slices.Max(pitches) <= LongestGap {
		return p
	}
	return nil
}

// foldedMeans are the means of the strengths n apart.
func foldedMeans(strength []float64, n int) []float64 {
	mean := make([]float64, n)
	for i, s := range strength {
		mean[i%n] += min(s, 1.5) / math.Ceil(float64(len(strength)-i%n)/float64(n))
	}
	return mean
}
