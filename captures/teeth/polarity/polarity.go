// Package polarity judges which way round a sensor's wires are, by the order and the
// strength of the falls and the rises of its wave.
package polarity

import (
	"cmp"
	"fmt"
	"math"
	"slices"

	"armcurve/captures/teeth/median"
	"armcurve/captures/teeth/pulses"
	"armcurve/captures/teeth/wheels"
)

// Polarities of a sensor's wires; Unknown where the wave does not tell.
const (
	Normal   = "normal"
	Reversed = "reversed"
	Unknown  = "unknown"
)

// Judge tells which way round the wires are. A missing tooth leaves one
// long interval between the falls at the teeth; between the rises, which lie in
// the spaces, it leaves two that are shorter: m missing teeth give one of m+1
// pitches against two of (m+2)/2. Seen the other way round, the wires are
// swapped.
func Judge(at, against []pulses.Mark, p *wheels.Pattern) (polarity, why string) {
	if len(at) < 6 || len(against) < 6 {
		return Unknown, "too few teeth were seen"
	}
	if wheels.Sparse(at) || wheels.Sparse(against) {
		return byStrength(at, against)
	}
	if p != nil && p.Wheel.Pitches > 0 && !p.Wheel.Gapped() {
		return Unknown, noGap
	}
	if polarity, why = byOrder(at, against); polarity == Unknown {
		if p, w := byGaps(at, against); p != Unknown {
			polarity, why = p, w
		}
	}
	if polarity == Unknown && p != nil && p.Wheel.Gapped() && betweenTeeth(p, at, against) {
		return Normal, "between the teeth beside the gaps the wave hardly swings"
	}
	if polarity == Normal && p == nil {
		// The right way round, the wheel is recognised as well.
		return Unknown, why + ", but no wheel was recognised"
	}
	return polarity, why
}

const noGap = "the wheel shows no gap, and without one both ways round look alike"

// byGaps judges by which of the two, the falls or the rises, show a wheel with gaps
// as they are between teeth.
func byGaps(at, against []pulses.Mark) (polarity, why string) {
	falls, rises := gapsWithin(at, against), gapsWithin(against, at)
	const evidence = "%s alone show a wheel: %d teeth, %d of %d pitches missing"
	say := func(polarity, name string, pitches []int) (string, string) {
		total := 0
		for _, k := range pitches {
			total += k
		}
		return polarity, fmt.Sprintf(evidence, name, len(pitches), total-len(pitches), total)
	}
	switch {
	case falls != nil && rises == nil:
		return say(Normal, "the falls through the rest level", falls)
	case rises != nil && falls == nil && comesAgain(wheels.NewIntervals(against).Pitches, len(rises)) >= fewestAgain:
		return say(Reversed, "the rises through the rest level", rises)
	}
	return Unknown, ""
}

// gapsWithin lays out the wheel that marks show; nil where they show none, or one without
// gaps, or one of which the gaps are not as they are between teeth: of whole pitches by the
// lobes beside, with a tooth on either side, and between those no two swings that teeth
// make the other way.
func gapsWithin(marks, others []pulses.Mark) []int {
	const fewer = 0.18 // of the logarithm; more it may be, lobes beside a gap are enlarged
	marks = wheels.Swinging(marks)
	in := wheels.NewIntervals(marks)
	n := wheels.Period(in.Pitches)
	if n == 0 {
		return nil
	}
	pitches := wheels.LayOut(in, n)
	if pitches == nil {
		return nil
	}
	lobes, teeth := wheels.BySlot(in.ByLobe, n), wheels.BySlot(teethAbout(marks, others), n)
	for j, k := range pitches {
		if k > 1 && (math.Log(lobes[j]/float64(k)) < -fewer || teeth[j] > 1) {
			return nil
		}
	}
	if splitsGap(pitches) || slices.Max(pitches) == 1 {
		return nil
	}
	return pitches
}

// splitsGap tells of two intervals of two pitches side by side: spaces show a gap of
// one or two teeth so.
func splitsGap(pitches []int) bool {
	n := len(pitches)
	for j, k := range pitches {
		if k == 2 && n > 1 && pitches[(j+1)%n] == 2 {
			return true
		}
	}
	return false
}

// betweenTeeth tells that the wheel's gaps are as they are between teeth, whatever
// noise does to the swings in them.
func betweenTeeth(p *wheels.Pattern, at, against []pulses.Mark) bool {
	const most, fewest = 1.5, 2
	at = wheels.Swinging(at)
	teeth := teethAbout(at, against)
	var inGaps []float64
	for i, pitches := range wheels.NewIntervals(at).Pitches {
		if pitches > wheels.LongInterval {
			inGaps = append(inGaps, teeth[i])
		}
	}
	return len(inGaps) >= fewest && median.Of(inGaps) <= most && !splitsGap(p.Pitches())
}

// teethAbout tells, for each interval between marks, how many of the others in it
// are whole swings; more than there can be where one of the marks is none.
func teethAbout(marks, others []pulses.Mark) []float64 {
	isWhole, whole := wholeSwings(marks), []pulses.Mark(nil)
	for i, is := range wholeSwings(others) {
		if is {
			whole = append(whole, others[i])
		}
	}
	counts := between(marks, whole)
	for i := range counts {
		if !isWhole[i] || !isWhole[i+1] {
			counts[i] = mostBetween + 1
		}
	}
	return counts
}

// wholeSwings tells which marks have a half-wave on both sides, as at any speed teeth
// have and spaces. Where the wave swings only to rest or from it, beside a gap, they
// have not.
func wholeSwings(marks []pulses.Mark) []bool {
	const least = 0.3
	lobes, troughs := make([]float64, len(marks)), make([]float64, len(marks))
	for i := range marks {
		lobes[i], troughs[i] = max(marks[i].Lobe(), 0), marks[i].TroughV
	}
	// An instrument may cut off either side.
	usual := median.Of(lobes) / median.Of(troughs)
	is := make([]bool, len(marks))
	for i, lobe := range lobes {
		trough := usual * troughs[i]
		is[i] = min(lobe, trough) > least*max(lobe, trough)
	}
	return is
}

// byOrder judges by how the falls and the rises come again. Where a loose
// contact breaks their order it is looked for in either half.
func byOrder(at, against []pulses.Mark) (polarity, why string) {
	polarity, why = byWholeOrder(at, against)
	if polarity != Unknown || len(at) < fewestHalved || len(against) < fewestHalved {
		return polarity, why
	}
	middle := at[len(at)/2].At
	cut, _ := slices.BinarySearchFunc(against, middle, func(m pulses.Mark, at float64) int { return cmp.Compare(m.At, at) })
	first, firstWhy := byOrder(at[:len(at)/2], against[:cut])
	second, secondWhy := byOrder(at[len(at)/2:], against[cut:])
	switch {
	case second == Unknown || first == second:
		return first, firstWhy
	case first == Unknown:
		return second, secondWhy
	}
	return Unknown, "one part of the capture shows one, another the other"
}

// fewestHalved is the number of marks of which either half may tell something.
const fewestHalved = 60

func byWholeOrder(at, against []pulses.Mark) (polarity, why string) {
	falls, rises := newOrder(at), newOrder(against)
	if falls.n == 0 && rises.n == 0 {
		return Unknown, noGap
	}
	if falls.n == 0 {
		falls.matching(rises)
	}
	if rises.n == 0 {
		rises.matching(falls)
	}
	if falls.n == 0 || rises.n == 0 {
		return Unknown, "either the falls or the rises through the rest level show no order"
	}
	a, b := falls.longest(rises.marks), rises.longest(falls.marks)
	more := float64(rises.within(falls)) / float64(falls.n)
	evidence := fmt.Sprintf("the longest intervals are %.2g × the pitch between falls through the rest level, %.2g × between rises, which are %.3g times as many", a, b, more)
	switch {
	case a > longer*b && more > 1 && oneGap(a, b):
		return Normal, evidence
	case b > longer*a && more < 1 && oneGap(b, a) && comesAgain(rises.Pitches, rises.n) >= fewestAgain:
		return Reversed, evidence
	}
	return Unknown, evidence
}

// fewestAgain is how often a long interval has to come again for wires to be taken as
// swapped: once, any two do that a loose contact made.
const fewestAgain = 2

// comesAgain is how often a long interval comes again n intervals on.
func comesAgain(pitches []float64, n int) int {
	times := 0
	for i := 0; i+n < len(pitches); i++ {
		if pitches[i] > wheels.LongInterval && pitches[i+n] > wheels.LongInterval {
			times++
		}
	}
	return times
}

// longer is by how many times one longest interval has to exceed the other.
const longer = 1.15

// oneGap tells that the longest interval at the teeth is one that a gap leaves,
// and that in the spaces not more than half of it and half a pitch, as it is
// where the wave swings back once amid the gap.
func oneGap(atTeeth, inSpaces float64) bool {
	const least, about = 1.4, 1.3
	return atTeeth >= least && atTeeth < wheels.LongestGap+1 && inSpaces < about*(atTeeth+1)/2
}

// order is how intervals come again.
type order struct {
	marks []pulses.Mark
	wheels.Intervals
	n int // intervals after which they do; 0: they do not
}

func newOrder(marks []pulses.Mark) order {
	marks = wheels.Swinging(marks)
	in := wheels.NewIntervals(marks)
	return order{marks: marks, Intervals: in, n: wheels.Period(in.Pitches)}
}

// matching takes the number of intervals that come in a turn as the other sees
// it, where that many make an order.
func (o *order) matching(other order) {
	if n := o.within(other); n > 0 && wheels.Similar(o.Pitches, n) {
		o.n = n
	}
}

// within is the number of marks that come in a turn as the other sees it.
func (o *order) within(other order) int {
	var counts []float64
	i, k := 0, 0
	for j := 0; j+other.n < len(other.marks); j++ {
		from, to := other.marks[j].At, other.marks[j+other.n].At
		for i < len(o.marks) && o.marks[i].At < from {
			i++
		}
		for k < len(o.marks) && o.marks[k].At < to {
			k++
		}
		if i > 0 && k < len(o.marks) {
			counts = append(counts, float64(k-i))
		}
	}
	if len(counts) == 0 {
		return 0
	}
	return int(median.Of(counts))
}

// manyTeeth in a turn: the speed hardly changes over five pitches.
const manyTeeth = 22

// mostBetween is the number of swings one way, at most, between two the other way: they
// take turns, but for a gap, beside which the wave swings to rest and from it.
const mostBetween = 2

// strongOf are the marks that are no noise, nor of the swings to rest and from it.
func strongOf(marks []pulses.Mark) []pulses.Mark {
	const more = 0.6
	var fluxes []float64
	for i := range marks {
		fluxes = append(fluxes, marks[i].Flux)
	}
	var strong []pulses.Mark
	for least, i := more*median.Of(fluxes), 0; i < len(marks); i++ {
		if marks[i].Flux > least {
			strong = append(strong, marks[i])
		}
	}
	return strong
}

// between counts those of others that lie in each interval between marks.
func between(marks, others []pulses.Mark) []float64 {
	var counts []float64
	k := 0
	for i := 1; i < len(marks); i++ {
		for k < len(others) && others[k].At <= marks[i-1].At {
			k++
		}
		from := k
		for k < len(others) && others[k].At < marks[i].At {
			k++
		}
		counts = append(counts, float64(k-from))
	}
	return counts
}

// longest is the longest interval that comes in every turn, in pitches: in
// intervals usual about it, or with few teeth in a turn, where the speed changes
// too much from one to the next, with the help of the lobes' height. One in which
// the others show that marks were passed over is none.
func (o *order) longest(others []pulses.Mark) float64 {
	const near = 4
	relative := o.Pitches
	if o.n >= manyTeeth {
		relative = median.Running(o.Lengths, near)
		for i, length := range o.Lengths {
			relative[i] = length / relative[i]
		}
	}
	longest := 0.0
	within := wheels.BySlot(between(o.marks, strongOf(others)), o.n)
	for j, length := range wheels.BySlot(relative, o.n) {
		if within[j] <= mostBetween {
			longest = max(longest, length)
		}
	}
	return longest
}

// Of the two ratios of strength clearlyStronger is between the 2 that is expected and the 1 that tells
// nothing; more than tooStrong is no tooth.
const (
	fewestApart     = 8 // pulses
	clearlyStronger = 1.6
	tooStrong       = 2.8
)

// byStrength judges pulses that stand apart: the swing through a tooth is the
// whole of its flux, the swings before and behind it are half. Between teeth the wave may
// be the copy of another sensor's, or noise: what is far weaker than the swings beside them.
func byStrength(falls, rises []pulses.Mark) (polarity, why string) {
	const counts = 0.5 // times the swings beside
	if len(falls) < fewestApart || len(rises) < fewestApart {
		return Unknown, "too few teeth were seen"
	}
	strong, weak, names := falls, rises, [...]string{"fall", "rises"}
	isReversed := usualFlux(falls) < usualFlux(rises)
	if isReversed {
		strong, weak, names = rises, falls, [...]string{"rise", "falls"}
	}
	beside := usualFlux(besideOf(strong, weak))
	if !standApart(strong, atLeast(counts*beside, weak)) {
		return Unknown, "between strong swings of the wave there are more weak ones than teeth that stand apart leave"
	}
	ratio := usualFlux(strong) / beside
	why = fmt.Sprintf("at a tooth the %s is %.2g times as strong as the %s beside it", names[0], ratio, names[1])
	switch {
	case ratio <= clearlyStronger || ratio >= tooStrong:
		return Unknown, why
	case isReversed:
		return Reversed, why
	}
	return Normal, why
}

func usualFlux(marks []pulses.Mark) float64 {
	flux := make([]float64, len(marks))
	for i, m := range marks {
		flux[i] = m.Flux
	}
	return median.Of(flux)
}

// besideOf are the others next to some marks, before and behind.
func besideOf(marks, others []pulses.Mark) (beside []pulses.Mark) {
	k := 0
	for _, m := range marks {
		for k < len(others) && others[k].At < m.At {
			k++
		}
		beside = append(beside, others[max(k-1, 0):min(k+1, len(others))]...)
	}
	return beside
}

func atLeast(flux float64, marks []pulses.Mark) (list []pulses.Mark) {
	for _, m := range marks {
		if m.Flux >= flux {
			list = append(list, m)
		}
	}
	return list
}

// standApart tells that between strong swings there usually are none but the two that
// belong to them.
func standApart(strong, weak []pulses.Mark) bool {
	return median.Of(between(strong, weak)) <= mostBetween
}
