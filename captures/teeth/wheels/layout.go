package wheels

import (
	"math"
	"slices"

	"armcurve/captures"
)

const (
	LongestGap = 6 // pitches in an interval, at most
	// clearlyMore is by how much the likelihood, a logarithm, of the number of
	// teeth missing in a gap has to exceed that of any other number.
	clearlyMore = 3.0

	// The lobes beside a gap are enlarged, so that by them it holds more pitches
	// than it does; by how much the wheel and the sensor decide.
	lobeExcess = 0.06
	lobeSpread = 0.15

	leastRough = 0.05 // change of speed, as a logarithm, that interpolation may leave
)

// LayOut finds how many pitches each of n intervals holds that come again and
// again: all gaps the same number, so that the engine's speed is smooth across
// them and the lobes beside agree. Nil where another number does about as well.
func LayOut(in Intervals, n int) []int {
	l := newTurnLayout(in, n)
	if l == nil {
		return nil
	}
	return l.best()
}

// layOutStated lays out a wheel of which the teeth and the gaps are known but not
// where the gaps are; nil where the long intervals are not as many, or are not
// all alike.
func layOutStated(in Intervals, w captures.Wheel) []int {
	l := newTurnLayout(in, w.TeethPresent())
	if l == nil || len(l.gaps) != len(w.Missing) || slices.Min(w.Missing) != slices.Max(w.Missing) {
		return nil
	}
	inGap := w.Missing[0] + 1
	l.try(inGap)
	if int(l.total) != w.Pitches || !l.alike(inGap) {
		return nil
	}
	return l.pitches
}

// newTurnLayout gathers intervals by slot; nil where there are not two turns of
// n of them.
func newTurnLayout(in Intervals, n int) *turnLayout {
	if n > len(in.Lengths)/2 {
		return nil
	}
	l := &turnLayout{lengths: BySlot(partsOfTurn(in.Lengths, n), n), lobes: BySlot(in.ByLobe, n), widths: BySlot(in.byWidth, n), pitches: make([]int, n)}
	if slices.Min(l.lengths) <= 0 || slices.Min(l.lobes) <= 0 {
		return nil
	}
	for j := range n {
		l.lengths[j], l.lobes[j] = math.Log(l.lengths[j]), math.Log(l.lobes[j])
	}
	for j, pitches := range BySlot(in.Pitches, n) {
		if pitches > LongInterval {
			l.gaps = append(l.gaps, j)
		}
	}
	return l
}

// turnLayout is a turn of intervals, of which some are gaps.
type turnLayout struct {
	lengths, lobes []float64 // by slot, logarithms
	widths         []float64 // by slot, pitches by the pulses' widths
	gaps           []int     // slots
	pitches        []int     // of a trial, by slot
	middles        []float64 // of the intervals in a trial, pitches from the first's beginning
	total          float64   // pitches
}

// try lays out the turn with so many pitches in each gap.
func (l *turnLayout) try(inGap int) {
	for j := range l.pitches {
		l.pitches[j] = 1
	}
	for _, j := range l.gaps {
		l.pitches[j] = inGap
	}
	l.measureOut()
}

// measureOut works out where the middles of the trial's intervals are.
func (l *turnLayout) measureOut() {
	l.middles, l.total = l.middles[:0], 0
	for _, k := range l.pitches {
		l.middles = append(l.middles, l.total+float64(k)/2)
		l.total += float64(k)
	}
}

// best is the likeliest layout, nil where it is not clearly so.
func (l *turnLayout) best() []int {
	most, second := math.Inf(-1), math.Inf(-1)
	inGap := 1
	for k := 2; k <= LongestGap && len(l.gaps) > 0; k++ {
		l.try(k)
		switch likelihood := l.likelihood(); {
		case likelihood > most:
			most, second, inGap = likelihood, most, k
		case likelihood > second:
			second = likelihood
		}
	}
	if len(l.gaps) > 0 && most-second < clearlyMore {
		return nil
	}
	l.try(inGap)
	if !l.alike(inGap) || l.slow(inGap) {
		return nil
	}
	return l.pitches
}

// slow tells that by the pulses' widths an interval holds clearly fewer pitches than the
// gaps are to have, or by them and the lobes together: it is long because the wheel was
// slow, which makes pulses wide and lobes low. Lobes alone do not tell, as they are low
// too where the wheel runs out.
func (l *turnLayout) slow(inGap int) bool {
	const surely, width, lobe = 0.4, 0.2, 0.3 // of the logarithm
	for _, j := range l.gaps {
		k := math.Log(float64(inGap))
		narrower, lower := k-math.Log(l.widths[j]), k-l.lobes[j]
		if narrower > surely || narrower > width && lower > lobe {
			return true
		}
	}
	return false
}

// What a wheel that is known leaves of the logarithms of speed and lobes.
const (
	statedSpread  = 0.2
	statedClearly = 4.0  // by which the likelihood has to exceed that of any other position
	statedMost    = 0.35 // root of the mean square up to which it is that wheel
)

// fits tells whether the intervals may be those of a wheel that is stated, in one
// position clearly sooner than in any other. Where compression makes the speed jump
// from tooth to tooth, whatever the position, jumps tell as much less.
func (l *turnLayout) fits(pitches []int) bool {
	const square = statedSpread * statedSpread
	n := len(l.pitches)
	jumps, lobes := make([]float64, n), make([]float64, n) // by position, mean squares
	for turn := range n {
		for j := range l.pitches {
			l.pitches[j] = pitches[(j+turn)%n]
		}
		l.measureOut()
		for j, k := range l.pitches {
			jump, lobe := l.jump(j), l.lobes[j]-math.Log(float64(k))
			jumps[turn] += jump * jump / float64(n)
			lobes[turn] += lobe * lobe / float64(n)
		}
	}
	weight := square / max(square, slices.Min(jumps))
	left := make([]float64, n)
	for turn := range left {
		left[turn] = weight*jumps[turn] + lobes[turn]
	}
	slices.Sort(left)
	isClear := n < 2 || float64(n)*(left[1]-left[0])/(2*square) > statedClearly
	return isClear && left[0] < statedMost*statedMost
}

// likelihood is the logarithm of how likely the layout on trial makes the wave.
func (l *turnLayout) likelihood() float64 {
	sum := customary(int(l.total))
	rough := l.roughness()
	for _, j := range l.gaps {
		sum += l.gapLikelihood(j, rough)
	}
	return sum
}

func (l *turnLayout) gapLikelihood(j int, rough float64) float64 {
	// What a polynomial through four points leaves grows as the product of their
	// distances: here in half pitches, over that of single ones.
	k := float64(l.pitches[j])
	across := max(leastRough, rough*(k+1)*(k+1)*(k+3)*(k+3)/64)
	speed := l.jump(j) / across
	lobe := (l.lobes[j] - math.Log(k) - lobeExcess) / lobeSpread
	return -(speed*speed+lobe*lobe)/2 - math.Log(across)
}

// alike tells that no gap would clearly rather hold another number of pitches
// than all the others.
func (l *turnLayout) alike(inGap int) bool {
	rough := l.roughness()
	for _, j := range l.gaps {
		here := l.gapLikelihood(j, rough)
		for _, k := range []int{inGap - 1, inGap + 1} {
			l.pitches[j] = k
			l.measureOut()
			if k > 0 && l.gapLikelihood(j, rough) > here+clearlyMore {
				return false
			}
		}
		l.pitches[j] = inGap
		l.measureOut()
	}
	return true
}

// customary is the logarithm of how often wheels have so many pitches: nearly all
// are divided by a protractor's numbers (common practice).
func customary(pitches int) float64 {
	switch {
	case pitches%4 == 0 || pitches%6 == 0:
		return 0
	case pitches%2 == 0:
		return -3
	}
	return -4.5
}

// roughness is how much the speed, as a logarithm, usually jumps from what the
// intervals beside make expect, away from gaps if there are such.
func (l *turnLayout) roughness() float64 {
	var far, near []float64
	for j, k := range l.pitches {
		if k > 1 {
			continue
		}
		jump := l.jump(j)
		near = append(near, jump*jump)
		if !l.gapWithin(j, 2) {
			far = append(far, jump*jump)
		}
	}
	if len(far) < 4 {
		far = near
	}
	sum := 0.0
	for _, square := range far {
		sum += square
	}
	return math.Sqrt(sum / float64(max(1, len(far))))
}

func (l *turnLayout) gapWithin(j, reach int) bool {
	n := len(l.pitches)
	for d := -reach; d <= reach; d++ {
		if l.pitches[((j+d)%n+n)%n] > 1 {
			return true
		}
	}
	return false
}

// jump is by how much the logarithm of the time of a pitch in interval j exceeds
// that of the polynomial through the intervals beside, two on either side, or
// one in a turn of few.
func (l *turnLayout) jump(j int) float64 {
	n := len(l.pitches)
	reach := 2
	if n < 5 {
		reach = 1
	}
	var x, y [4]float64
	count := 0
	for d := -reach; d <= reach; d++ {
		if d == 0 {
			continue
		}
		i := j + d
		turns := 0.0
		for i < 0 {
			i, turns = i+n, turns-1
		}
		for i >= n {
			i, turns = i-n, turns+1
		}
		x[count] = l.middles[i] + turns*l.total - l.middles[j]
		y[count] = l.pitchTime(i)
		count++
	}
	return l.pitchTime(j) - lagrangeAtZero(x[:count], y[:count])
}

func (l *turnLayout) pitchTime(j int) float64 {
	return l.lengths[j] - math.Log(float64(l.pitches[j]))
}

// lagrangeAtZero is the value at 0 of the polynomial through points.
func lagrangeAtZero(x, y []float64) float64 {
	sum := 0.0
	for i := range x {
		term := y[i]
		for j := range x {
			if j != i {
				term *= x[j] / (x[j] - x[i])
			}
		}
		sum += term
	}
	return sum
}
