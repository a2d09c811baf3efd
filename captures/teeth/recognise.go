package teeth

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"gonum.org/v1/gonum/stat"

	"armcurve/captures"
	"armcurve/captures/teeth/median"
)

// recogniser tells which wheel a run of marks shows.
type recogniser struct {
	stated captures.Wheel
	onCam  bool

	differs bool     // the stated wheel does not fit
	even    bool     // because the wave shows no gap
	maybe   []string // wheels that it may be, where a wave may be that of several
	// kept are the marks of a run at teeth, where others stand in the gaps; nil: all are.
	kept   []Mark
	before *pattern // found before, while more of the wave was waited for
}

// enoughApart is the number of teeth standing apart that show their order.
const enoughApart = 80

// choose decides between what is found in a run of marks and what was stated;
// nil where that is not clear yet. last means that no more will come.
func (n *recogniser) choose(run []Mark, last bool) *pattern {
	switch {
	case len(run) < 4:
		return nil
	case !n.stated.Known():
		return n.recognise(run, last)
	case n.stated.Pitches == 0:
		return n.ifItFits(anglesPattern(n.stated, n.spanDeg()), run, last)
	case !n.stated.Gapped():
		return n.compareEven(run, last)
	}
	return n.compareGapped(run, last)
}

// recognise finds a wheel of which nothing is known.
func (n *recogniser) recognise(run []Mark, last bool) *pattern {
	in := newIntervals(run)
	found := withoutSecondTurns(run, in)
	if found == nil {
		found = findInEither(run, in)
	}
	if found != nil && !found.usual() {
		found = nil
	}
	if found == nil && !sparse(run) {
		found = n.folded(run)
	}
	switch {
	case found != nil:
		if len(run) >= 3*len(found.parts) {
			n.before = found
		}
	case last && n.before != nil:
		return n.settle(n.before, run, in)
	case sparse(run) && (last || len(run) >= enoughApart):
		return findAngles(run, n.spanDeg())
	default:
		return nil
	}
	turn := len(found.parts)
	if !last && len(run) < 3*turn {
		return nil
	}
	if !last && len(run) < enoughRepeats*turn && candidates(found) != nil {
		return nil
	}
	return n.settle(found, run, in)
}

// findInEither finds a wheel by the intervals of a run as they are usually judged, or
// as they are where compressions slow it down.
func findInEither(run []Mark, in intervals) *pattern {
	if found := findPattern(in); found != nil {
		return found
	}
	return findPattern(intervalsInRipple(run))
}

// folded finds a wheel by how strong the pulses at its places are; nil where that is
// another one than the order of intervals showed before.
func (n *recogniser) folded(run []Mark) *pattern {
	p := foldPattern(run)
	if p != nil && n.before != nil && !sameWheel(p.wheel, n.before.wheel) {
		return nil
	}
	return p
}

// settle takes what was found, unless it may as well be a part of a larger
// wheel's turn; of those with single teeth missing the shortest is usual.
func (n *recogniser) settle(found *pattern, run []Mark, in intervals) *pattern {
	if n.maybe = candidates(found); n.maybe == nil {
		return found
	}
	if times := repeats(run, in, found); times > 0 {
		n.maybe = nil
		return found.repeated(times)
	}
	if found.wheel.Missing[0] == 1 {
		return found
	}
	return nil
}

// usual tells that all gaps are of the same number of teeth, as they are on
// nearly every wheel: others are more likely a wave misread, and have to be
// stated.
func (p *pattern) usual() bool {
	m := p.wheel.Missing
	return slices.Min(m) == slices.Max(m)
}

const (
	enoughRepeats = 12 // of an order, to tell whether a turn holds several
	fewPitches    = 20 // up to which the order of a wheel may be a part of another
	mostRepeats   = 3
)

// candidates are the wheels that make the same wave, if there are others than
// the shortest: usual are those with few teeth and one gap that may be the half
// or the third of a larger wheel's turn.
func candidates(found *pattern) []string {
	w := found.wheel
	if len(w.Missing) != 1 || w.Pitches >= fewPitches {
		return nil
	}
	var list []string
	for times := 1; times <= mostRepeats; times++ {
		list = append(list, found.repeated(times).wheel.String())
	}
	return list
}

// repeats tells how often the order found comes in a turn, 1 or 3; 0 where the
// wave does not tell. No wheel is perfect: its teeth differ a little, and it runs
// out, so heights that come again after one order, or only after three, show it.
// So does the speed, which follows the engine's compressions: of a cycle's two
// turns each is two halves, whatever the engine, but never three thirds.
func repeats(run []Mark, in intervals, found *pattern) int {
	turn := len(found.parts)
	from, to := unbroken(in.pitches, turn)
	run, in.samples = run[from:to+1], in.samples[from:to]
	if len(run) < enoughRepeats*turn {
		return 0
	}
	lengths, levels := lengthsAndLevels(run)
	for _, x := range [][]float64{levels, lengths} {
		one, two, three := unlike(x, turn), unlike(x, 2*turn), unlike(x, 3*turn)
		if one > leastUnlike*leastUnlike && three < 0.25*min(one, two) && lasts(x, 3*turn, 0.25*min(one, two)) {
			return 3
		}
	}
	if v := withinOrder(levels, found, in.samples); v > leastUneven*leastUneven && v > 6*unlike(levels, turn) {
		return 1
	}
	return 0
}

// lengthsAndLevels are for each mark but the first and the last the two intervals
// beside it and the height of its lobe at an equal speed, logarithms.
func lengthsAndLevels(run []Mark) (lengths, levels []float64) {
	lengths, levels = make([]float64, len(run)-2), make([]float64, len(run)-2)
	for i := range lengths {
		both := run[i+2].At - run[i].At
		lengths[i] = math.Log(both)
		levels[i] = math.Log(max(run[i+1].lobe(), 1e-9) * both)
	}
	return lengths, levels
}

// Unevenness of a wheel, as a share of its teeth's height, that tells anything:
// from one part of a turn to the next, and within one.
const (
	leastUnlike = 0.006
	leastUneven = 0.02
)

// lasts tells that values are as alike after the most spans that there are, apart from
// what changes on the whole, their mean over a span about each: those of the wheel are,
// and mains hum that keeps to three turns by chance drifts away.
func lasts(x []float64, span int, most float64) bool {
	var rest []float64
	for from := 0; from+span <= len(x); from++ {
		rest = append(rest, x[from+span/2]-stat.Mean(x[from:from+span], nil))
	}
	spans := len(rest)/span - 1
	return spans < 1 || unlike(rest, spans*span) < most
}

// unlike is half the mean square of the differences of values so far apart,
// robustly.
func unlike(x []float64, apart int) float64 {
	var squares []float64
	for i := 0; i+apart < len(x); i++ {
		d := x[i+apart] - x[i]
		squares = append(squares, d*d)
	}
	// The median of the square of a normal variate is 0.455 of its mean.
	return median.Of(squares) / 0.455 / 2
}

// withinOrder is the variance of the levels by slot, those near a gap apart:
// their heights are different in any wheel.
func withinOrder(levels []float64, found *pattern, samples []float64) float64 {
	turn := len(found.parts)
	first, _, _ := found.align(samples)
	bySlot := bySlot(levels, turn)
	sum, sum2, count := 0.0, 0.0, 0.0
	for i, level := range bySlot {
		slot := (first + 1 + i) % turn // of the mark amid the two intervals
		near := false
		for d := -2; d <= 1; d++ {
			near = near || !found.regular((slot+d+turn)%turn)
		}
		if !near {
			sum, sum2, count = sum+level, sum2+level*level, count+1
		}
	}
	if count < 4 {
		return 0
	}
	mean := sum / count
	return sum2/count - mean*mean
}

// doubt says which wheels it may be.
func (n *recogniser) doubt() string {
	return fmt.Sprintf("the wave is that of %s alike", strings.Join(n.maybe, ", "))
}

// turnsToDeny are the turns that deny a wheel that was stated.
const turnsToDeny = 2.5

func (n *recogniser) seesEnough(run []Mark) bool {
	return float64(len(run)) >= turnsToDeny*float64(n.stated.TeethPresent())
}

// compareEven compares a run with a stated wheel without a gap.
func (n *recogniser) compareEven(run []Mark, last bool) *pattern {
	if !n.seesEnough(run) && !last {
		return nil
	}
	in := newIntervals(run)
	found := findPattern(in)
	switch {
	case found == nil && (evenly(in) || in.slowAtTimes(n.stated.TeethPresent())):
		return evenPattern(n.stated.TeethPresent())
	case found != nil && len(run) >= 3*max(len(found.parts), n.stated.TeethPresent()):
		n.differs = true
		return found
	}
	return nil
}

// Fits of a stated wheel, in the mean square of the changes of the logarithm of
// speed from one interval to the next.
const (
	goodFit    = 0.03
	asGood     = 1.5 // times that of the one found: as likely
	muchWorse  = 3.0 // times: it is not the one stated
	alwaysGood = 0.002
)

// compareGapped compares a run with a stated wheel with gaps.
func (n *recogniser) compareGapped(run []Mark, last bool) *pattern {
	in := newIntervals(run)
	found := findInEither(run, in)
	stated := newPattern(gapsOf(n.stated))
	if found == nil || !sameWheel(found.wheel, n.stated) {
		if p := withoutSecondTurns(run, in); p != nil {
			if p = n.asStated(p); p != nil {
				return p
			}
		}
		if kept, p := withoutUnlike(run); p != nil {
			if p = n.asStated(p); p != nil && len(kept) >= 2*len(p.parts) {
				return p
			}
		}
	}
	if found == nil {
		return n.withoutOrder(stated, run, in, last)
	}
	if p := n.asStated(found); p != nil {
		if p.repeats == 1 || last || len(run) >= 2*len(p.parts) {
			return p
		}
		return nil
	}
	if len(run) <= len(stated.parts)+1 || !last && len(run) < 3*max(len(found.parts), len(stated.parts)) {
		return nil
	}
	_, asFound, _ := found.align(in.samples)
	_, asStated, _ := stated.align(in.samples)
	switch {
	case asStated <= asGood*asFound+alwaysGood/2:
		return stated
	case found.usual() && asStated > muchWorse*asFound+alwaysGood && n.seesEnough(run):
		n.differs = true
		return found
	}
	return nil
}

// asStated is a pattern that is the stated wheel, or makes it up several times over; nil
// where it does not.
func (n *recogniser) asStated(p *pattern) *pattern {
	times := n.stated.Pitches / p.wheel.Pitches
	if times > 1 && times*p.wheel.Pitches == n.stated.Pitches {
		p = p.repeated(times)
	}
	if !sameWheel(p.wheel, n.stated) {
		return nil
	}
	return p
}

// withoutOrder compares a run in which no order was found.
func (n *recogniser) withoutOrder(stated *pattern, run []Mark, in intervals, last bool) *pattern {
	if (last || len(run) >= 3*len(stated.parts)) && n.dropHumps(stated, run, in) {
		return stated
	}
	if p := foldPattern(run); p != nil && !sparse(run) {
		if p = n.asStated(p); p != nil {
			return p
		}
	}
	if !last {
		return nil
	}
	if in.surelyEven() && n.seesEnough(run) {
		n.differs, n.even = true, true
		return nil
	}
	if pitches := layOutStated(in, n.stated); pitches != nil {
		return newPattern(pitches)
	}
	if l := newTurnLayout(in, len(stated.parts)); l != nil && l.fits(stated.pitches()) {
		return stated
	}
	return n.ifItFits(stated, run, last)
}

// dropHumps tells that the wave is that of the wheel with something standing
// where teeth are missing: evenly spaced pulses, of which those in the gaps are
// weaker than any other. The others are kept.
func (n *recogniser) dropHumps(stated *pattern, run []Mark, in intervals) bool {
	pitches := stated.wheel.Pitches
	if len(run) < 2*pitches+1 || !evenly(in) {
		return false
	}
	level := make([]float64, len(run)-2)
	for i := range level {
		level[i] = run[i+1].lobe() * (run[i+2].At - run[i].At)
	}
	isTooth := make([]bool, pitches)
	for _, place := range stated.wheel.Positions {
		isTooth[place] = true
	}
	byPlace := bySlot(level, pitches)
	for turn := range pitches {
		highest, lowest := 0.0, math.Inf(1) // of humps and of teeth
		for i, v := range byPlace {
			if isTooth[(i+turn)%pitches] {
				lowest = min(lowest, v)
			} else {
				highest = max(highest, v)
			}
		}
		if highest < humpMost*lowest {
			for i, m := range run {
				if isTooth[(i-1+turn+pitches)%pitches] {
					n.kept = append(n.kept, m)
				}
			}
			return true
		}
	}
	return false
}

// humpMost is the most that a hump in a gap reaches of the weakest tooth.
const humpMost = 0.8

// ifItFits is the pattern where it makes the wheel turn evenly in one position
// and in no other.
func (n *recogniser) ifItFits(p *pattern, run []Mark, last bool) *pattern {
	if len(run) < 2*len(p.parts)+2 && !last || len(run) < len(p.parts)+1 {
		return nil
	}
	_, cost, second := p.align(newIntervals(run).samples)
	if cost < goodFit && (len(p.parts) == 1 || second > 3*cost+alwaysGood) {
		return p
	}
	return nil
}

// spanDeg is a turn of the wheel in crank degrees.
func (n *recogniser) spanDeg() float64 {
	if n.onCam {
		return 720
	}
	return 360
}

// gapsOf lists a stated wheel's intervals in pitches.
func gapsOf(w captures.Wheel) []int {
	var pitches []int
	for i, p := range w.Positions {
		next := w.Pitches
		if i+1 < len(w.Positions) {
			next = w.Positions[i+1]
		}
		pitches = append(pitches, next-p)
	}
	return pitches
}

// surelyEven tells that no interval is much longer than those about it, by
// their lengths and by the lobes' heights.
func (in intervals) surelyEven() bool {
	const near, most = 4, 1.25
	for i, usual := range median.Running(in.samples, near) {
		if in.samples[i] > most*usual || in.pitches[i] > most {
			return false
		}
	}
	return true
}

// slowAtTimes tells that none of n intervals that come again in each turn holds a gap,
// by the lobes or the pulses' widths: they are long where the wheel is slow.
func (in intervals) slowAtTimes(n int) bool {
	if len(in.samples) < 2*n || !similar(in.samples, n) {
		return false
	}
	widths := bySlot(in.byWidth, n)
	for j, pitches := range bySlot(in.byLobe, n) {
		if min(pitches, widths[j]) > longInterval {
			return false
		}
	}
	return true
}

// evenly tells that no interval among the marks stands out.
func evenly(in intervals) bool {
	long := 0
	for _, r := range in.pitches {
		if r > longInterval || r < 0.66 {
			long++
		}
	}
	return long == 0 || long*20 <= len(in.pitches) && period(in.pitches) == 0 && long < 3
}
