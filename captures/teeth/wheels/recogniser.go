package wheels

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"armcurve/captures"
	"armcurve/captures/teeth/median"
	"armcurve/captures/teeth/pulses"
)

// Recogniser tells which wheel a run of marks shows.
type Recogniser struct {
	Stated captures.Wheel
	OnCam  bool

	Differs bool     // the stated wheel does not fit
	Even    bool     // because the wave shows no gap
	Maybe   []string // wheels that it may be, where a wave may be that of several
	Order   *Pattern // the shortest of them; nil where there is but one
	// Kept are the marks of a run at teeth, where others stand in the gaps; nil: all are.
	Kept   []pulses.Mark
	before *Pattern // found before, while more of the wave was waited for
}

// EnoughApart is the number of teeth standing apart that show their order.
const EnoughApart = 80

// Choose decides between what is found in a run of marks and what was stated;
// nil where that is not clear yet. last means that no more will come.
func (n *Recogniser) Choose(run []pulses.Mark, last bool) *Pattern {
	switch {
	case len(run) < 4:
		return nil
	case !n.Stated.Known():
		return n.recognise(run, last)
	case n.Stated.Pitches == 0:
		return n.ifItFits(anglesPattern(n.Stated, n.spanDeg()), run, last)
	case !n.Stated.Gapped():
		return n.compareEven(run, last)
	}
	return n.compareGapped(run, last)
}

// recognise finds a wheel of which nothing is known.
func (n *Recogniser) recognise(run []pulses.Mark, last bool) *Pattern {
	in := NewIntervals(run)
	found := withoutSecondTurns(run, in, false)
	if found == nil {
		found = findInEither(run, in)
	}
	if found != nil && !found.usual() {
		found = nil
	}
	isSparse := Sparse(run)
	if found == nil && !isSparse {
		found = n.folded(run)
	}
	if found != nil && isSparse {
		found = n.orAngles(found, run, in, last)
	}
	switch {
	case found != nil:
		if len(run) >= 3*len(found.Parts) {
			n.before = found
		}
	case last && n.before != nil:
		found = n.before
		if isSparse {
			found = n.orAngles(found, run, in, last)
		}
		if found == nil {
			return nil
		}
		return n.settle(found, run, in)
	case isSparse && (last || len(run) >= EnoughApart):
		return findAngles(run, n.spanDeg())
	default:
		return nil
	}
	turn := len(found.Parts)
	if !last && len(run) < 3*turn {
		return nil
	}
	if !last && len(run) < enoughRepeats*turn && candidates(found) != nil {
		return nil
	}
	return n.settle(found, run, in)
}

// orAngles is a wheel of teeth at uneven angles in the place of one of whole pitches that
// does not fit, where the lobes bear out the angles: no compressions make them so. nil
// where more of the wave may tell, and where the lobes do not fit the wheel either.
func (n *Recogniser) orAngles(found *Pattern, run []pulses.Mark, in Intervals, last bool) *Pattern {
	_, asFound, _ := found.Align(in.Lengths)
	if asFound < goodFit {
		return found
	}
	if p := findAngles(run, n.spanDeg()); p != nil {
		if _, asAngles, _ := p.Align(in.Lengths); asFound > muchWorse*asAngles {
			return p
		}
	}
	_, byLobes, _ := found.least(func(j int) float64 { return found.lobeCost(lobeAngles(run, in.Lengths), j) })
	if last && byLobes < goodFit {
		return found
	}
	return nil
}

// findInEither finds a wheel by the intervals of a run as they are usually judged, or
// as they are where compressions slow it down.
func findInEither(run []pulses.Mark, in Intervals) *Pattern {
	if found := findPattern(in); found != nil {
		return found
	}
	return findPattern(intervalsInRipple(run))
}

// folded finds a wheel by how strong the pulses at its places are; nil where that is
// another one than the order of intervals showed before.
func (n *Recogniser) folded(run []pulses.Mark) *Pattern {
	p := foldPattern(run)
	if p != nil && n.before != nil && !SameWheel(p.Wheel, n.before.Wheel) {
		return nil
	}
	return p
}

// settle takes what was found, unless it may as well be a part of a larger
// wheel's turn; of those with single teeth missing the shortest is usual.
func (n *Recogniser) settle(found *Pattern, run []pulses.Mark, in Intervals) *Pattern {
	if n.Maybe = candidates(found); n.Maybe == nil {
		return found
	}
	if times := repeats(run, in, found); times > 0 {
		n.Maybe = nil
		return found.repeated(times)
	}
	if found.Wheel.Missing[0] == 1 {
		return found
	}
	n.Order = found
	return nil
}

// deny takes what was found in the place of the stated wheel, once enough was seen to
// tell which wheel that is.
func (n *Recogniser) deny(found *Pattern, run []pulses.Mark, in Intervals, last bool) *Pattern {
	if !last && candidates(found) != nil && len(run) < enoughRepeats*len(found.Parts) {
		return nil
	}
	n.Differs = true
	return n.settle(found, run, in)
}

// usual tells that all gaps are of the same number of teeth, as they are on
// nearly every wheel: others are more likely a wave misread, and have to be
// stated.
func (p *Pattern) usual() bool {
	m := p.Wheel.Missing
	return slices.Min(m) == slices.Max(m)
}

// Doubt says which wheels it may be.
func (n *Recogniser) Doubt() string {
	return fmt.Sprintf("the wave is that of %s alike", strings.Join(n.Maybe, ", "))
}

// turnsToDeny are the turns that deny a wheel that was stated.
const turnsToDeny = 2.5

func (n *Recogniser) seesEnough(run []pulses.Mark) bool {
	return float64(len(run)) >= turnsToDeny*float64(n.Stated.TeethPresent())
}

// compareEven compares a run with a stated wheel without a gap.
func (n *Recogniser) compareEven(run []pulses.Mark, last bool) *Pattern {
	if !n.seesEnough(run) && !last {
		return nil
	}
	in := NewIntervals(run)
	found := findPattern(in)
	if found == nil && (Evenly(in) || in.slowAtTimes(n.Stated.TeethPresent())) {
		return evenPattern(n.Stated.TeethPresent())
	}
	if p := n.withoutSecondTurnsEven(run, in); p != nil {
		return p
	}
	if found != nil && len(run) >= 3*max(len(found.Parts), n.Stated.TeethPresent()) {
		return n.deny(found, run, in, last)
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
func (n *Recogniser) compareGapped(run []pulses.Mark, last bool) *Pattern {
	in := NewIntervals(run)
	found := findInEither(run, in)
	stated := New(GapsOf(n.Stated))
	if found == nil || !SameWheel(found.Wheel, n.Stated) {
		if p := withoutSecondTurns(run, in, true); p != nil {
			if p = n.asStated(p); p != nil {
				return p
			}
		}
		if kept, p := withoutUnlike(run); p != nil {
			if p = n.asStated(p); p != nil && len(kept) >= 2*len(p.Parts) {
				return p
			}
		}
	}
	if found == nil {
		return n.withoutOrder(stated, run, in, last)
	}
	if p := n.asStated(found); p != nil {
		if p.Repeats == 1 || last || len(run) >= 2*len(p.Parts) {
			return p
		}
		return nil
	}
	if len(run) <= len(stated.Parts)+1 || !last && len(run) < 3*max(len(found.Parts), len(stated.Parts)) {
		return nil
	}
	_, asFound, _ := found.Align(in.Lengths)
	_, asStated, _ := stated.Align(in.Lengths)
	switch {
	case asStated <= asGood*asFound+alwaysGood/2:
		return stated
	case found.usual() && asStated > muchWorse*asFound+alwaysGood && n.seesEnough(run):
		return n.deny(found, run, in, last)
	}
	return nil
}

// asStated is a pattern that is the stated wheel, or makes it up several times over; nil
// where it does not.
func (n *Recogniser) asStated(p *Pattern) *Pattern {
	times := n.Stated.Pitches / p.Wheel.Pitches
	if times > 1 && times*p.Wheel.Pitches == n.Stated.Pitches {
		p = p.repeated(times)
	}
	if !SameWheel(p.Wheel, n.Stated) {
		return nil
	}
	return p
}

// withoutOrder compares a run in which no order was found.
func (n *Recogniser) withoutOrder(stated *Pattern, run []pulses.Mark, in Intervals, last bool) *Pattern {
	if (last || len(run) >= 3*len(stated.Parts)) && n.dropHumps(stated, run, in) {
		return stated
	}
	if p := foldPattern(run); p != nil && !Sparse(run) {
		if p = n.asStated(p); p != nil {
			return p
		}
	}
	if !last {
		return nil
	}
	if in.SurelyEven() && n.seesEnough(run) {
		n.Differs, n.Even = true, true
		return nil
	}
	if pitches := layOutStated(in, n.Stated); pitches != nil {
		return New(pitches)
	}
	if l := newTurnLayout(in, len(stated.Parts)); l != nil && l.fits(stated.Pitches()) {
		return stated
	}
	return n.ifItFits(stated, run, last)
}

// dropHumps tells that the wave is that of the wheel with something standing
// where teeth are missing: evenly spaced pulses, of which those in the gaps are
// weaker than any other. The others are kept.
func (n *Recogniser) dropHumps(stated *Pattern, run []pulses.Mark, in Intervals) bool {
	pitches := stated.Wheel.Pitches
	if len(run) < 2*pitches+1 || !Evenly(in) {
		return false
	}
	level := make([]float64, len(run)-2)
	for i := range level {
		level[i] = run[i+1].Lobe() * (run[i+2].At - run[i].At)
	}
	isTooth := make([]bool, pitches)
	for _, place := range stated.Wheel.Positions {
		isTooth[place] = true
	}
	byPlace := BySlot(level, pitches)
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
					n.Kept = append(n.Kept, m)
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
// and in no other; or makes the lobes tell its angles, as where compressions slow
// it down much.
func (n *Recogniser) ifItFits(p *Pattern, run []pulses.Mark, last bool) *Pattern {
	if len(run) < 2*len(p.Parts)+2 && !last || len(run) < len(p.Parts)+1 {
		return nil
	}
	in := NewIntervals(run)
	_, cost, second := p.Align(in.Lengths)
	_, byLobes, secondByLobes := p.alignByLobes(in)
	if p.isPlaced(cost, second) || p.isPlaced(byLobes, secondByLobes) {
		return p
	}
	return nil
}

// isPlaced tells that one position fits well, and the next best does not.
func (p *Pattern) isPlaced(cost, second float64) bool {
	return cost < goodFit && (p.order() == 1 || second > 3*cost+alwaysGood)
}

// spanDeg is a turn of the wheel in crank degrees.
func (n *Recogniser) spanDeg() float64 {
	if n.OnCam {
		return 720
	}
	return 360
}

// GapsOf lists a stated wheel's intervals in pitches.
func GapsOf(w captures.Wheel) []int {
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

// SurelyEven tells that no interval is much longer than those about it, by
// their lengths and by the lobes' heights.
func (in Intervals) SurelyEven() bool {
	const near, most = 4, 1.25
	for i, usual := range median.Running(in.Lengths, near) {
		if in.Lengths[i] > most*usual || in.Pitches[i] > most {
			return false
		}
	}
	return true
}

// slowAtTimes tells that none of n intervals that come again in each turn holds a gap,
// by the lobes or the pulses' widths: they are long where the wheel is slow.
func (in Intervals) slowAtTimes(n int) bool {
	if len(in.Lengths) < 2*n || !Similar(in.Lengths, n) {
		return false
	}
	widths := BySlot(in.byWidth, n)
	for j, pitches := range BySlot(in.ByLobe, n) {
		if min(pitches, widths[j]) > LongInterval {
			return false
		}
	}
	return true
}

// Evenly tells that no interval among the marks stands out.
func Evenly(in Intervals) bool {
	long := 0
	for _, r := range in.Pitches {
		if r > LongInterval || r < 0.66 {
			long++
		}
	}
	return long == 0 || long*20 <= len(in.Pitches) && Period(in.Pitches) == 0 && long < 3
}
