package wheels

import (
	"math"
	"slices"

	"armcurve/captures/teeth/median"
	"armcurve/captures/teeth/pulses"
)

// Every tooth of a wheel comes in every turn. A pulse that comes only in every
// second one, unlike those about it or where the wheel has no place for a tooth, is none:
// what turns with the camshaft got into the wave. So are weak ones that come in every turn
// where the wheel is the stated one without them.

const (
	counterpartWithin = 0.45  // pitches of where a tooth should be a turn later
	fewestInTurn      = 4     // teeth
	hardlyATurn       = 7     // fewer are hardly all that a crank's wheel has
	mostForeign       = 4     // such pulses in two turns
	mostUnlike        = 0.15  // of all marks in every turn
	WeakAtMost        = 0.75  // of the strength of the teeth about it, at most
	strongAtLeast     = 1.5   // or at least
	besideForeign     = 4     // teeth on either side
	leastOther        = 0.011 // of their height by which teeth of a wheel are unlike, to tell
	surelyOther       = 0.03  // the same where a wheel is stated: pulses beside move the level that heights are told from
	wholePitches      = 0.2   // by which a gap is off a whole number of pitches, at most
	wellBefore        = 0.9   // of a gap's length, where its end is not yet
)

// withoutSecondTurns finds the wheel of a run in which some pulses come only in
// every second turn; nil where there are no such. Turns that differ in more than
// these are those of a larger wheel. Where a wheel is stated, less tells of them.
func withoutSecondTurns(run []pulses.Mark, in Intervals, isStated bool) *Pattern {
	kept, teeth, gaps := inEveryTurn(run, in, Period(in.Pitches), isStated)
	if kept == nil {
		return nil
	}
	among := NewIntervals(kept)
	pitches := LayOut(among, teeth)
	if pitches == nil || !turnsEvenly(among.Lengths, pitches) {
		return nil
	}
	// Of a wheel that nobody knows, a pulse in a gap as it has no other may be a tooth of a larger one.
	isOther := func(gap int) bool { return !slices.Contains(pitches, gap) }
	if !isStated && slices.ContainsFunc(gaps, isOther) {
		return nil
	}
	p := New(shortest(pitches))
	p.Foreign = 2
	return p
}

// withoutSecondTurnsEven is a stated wheel without a gap where a run shows it but for
// pulses that come in every second turn between its teeth; nil where it does not.
func (n *Recogniser) withoutSecondTurnsEven(run []pulses.Mark, in Intervals) *Pattern {
	stated := n.Stated.TeethPresent()
	for foreign := 1; foreign <= mostForeign; foreign++ {
		kept, teeth, _ := inEveryTurn(run, in, 2*stated+foreign, true)
		if teeth == stated && NewIntervals(kept).SurelyEven() {
			p := evenPattern(stated)
			p.Foreign = 2
			return p
		}
	}
	return nil
}

// inEveryTurn are the marks of a run that come in every turn, how many they are in one,
// and in how many pitches without a tooth each of the others comes, where n marks come in
// two turns; nil where that is none of them, or all.
func inEveryTurn(run []pulses.Mark, in Intervals, n int, isStated bool) (kept []pulses.Mark, teeth int, gaps []int) {
	if n < 2*fewestInTurn || len(in.Lengths) < 2*n {
		return nil, 0, nil
	}
	lengths := BySlot(partsOfTurn(in.Lengths, n), n)
	foreign := loneSlots(lengths)
	teeth = (n - len(foreign)) / 2
	if len(foreign) == 0 || len(foreign) > mostForeign || (n-len(foreign))%2 != 0 || teeth < fewestInTurn {
		return nil, 0, nil
	}
	flux, lobes := BySlot(fluxes(run), n), BySlot(lobesOf(run), n)
	for _, j := range foreign {
		isWeak, isLow, isOff := isForeign(flux, j), isForeign(lobes, j), isOffPlace(lengths, j)
		if !isStated && !isOff && teeth < hardlyATurn {
			return nil, 0, nil // a low tooth of a wheel twice as large
		}
		told := isWeak || isLow && isOff || isStated && (isLow || isOff)
		gap := pitchesAbout(lengths, j)
		if !told || gap < 1 {
			return nil, 0, nil
		}
		gaps = append(gaps, gap)
	}
	for i, m := range run {
		if !slices.Contains(foreign, i%n) {
			kept = append(kept, m)
		}
	}
	most := leastOther
	if isStated {
		most = surelyOther
	}
	if otherTeeth(kept, teeth, most) {
		return nil, 0, nil
	}
	return kept, teeth, gaps
}

// turnsEvenly tells that a wheel laid out so hardly slows down within a turn: where
// compressions do that, intervals tell little.
func turnsEvenly(samples []float64, pitches []int) bool {
	lengths := BySlot(partsOfTurn(samples, len(pitches)), len(pitches))
	for j := range lengths {
		lengths[j] /= float64(pitches[j])
	}
	return AreEven(lengths)
}

// otherTeeth tells that the teeth of a turn are not those of the turn before: no
// wheel is perfect, and its own teeth come again as they were, but for those that
// the other pulses lie over. They are unlike by more than so much of their height.
func otherTeeth(run []pulses.Mark, turn int, most float64) bool {
	const quartile = 0.45 // of differences of two normal variates, over the deviation of one
	_, levels := lengthsAndLevels(run)
	bySlot := BySlot(levels, 2*turn)
	differ := make([]float64, turn)
	for j := range differ {
		differ[j] = math.Abs(bySlot[j] - bySlot[j+turn])
	}
	slices.Sort(differ)
	chance := math.Sqrt(unlike(levels, 2*turn) * float64(2*turn) / float64(len(levels)))
	return differ[turn/4]/quartile > max(most, 2*chance)
}

func lobesOf(run []pulses.Mark) []float64 {
	lobes := make([]float64, len(run))
	for i := range run {
		lobes[i] = run[i].Lobe()
	}
	return lobes
}

func fluxes(run []pulses.Mark) []float64 {
	flux := make([]float64, len(run))
	for i, m := range run {
		flux[i] = m.Flux
	}
	return flux
}

// loneSlots are those of the marks of two turns of which none is there a turn
// later; the slot of an interval is that of the mark before it.
func loneSlots(lengths []float64) (lone []int) {
	places := make([]float64, len(lengths))
	turned := 0.0
	for j, length := range lengths {
		places[j] = turned
		turned += length
	}
	within := counterpartWithin * median.Of(lengths) / turned
	for j := range places {
		k := nearestPlace(places, turned, places[j]+turned/2)
		if apart(places[j]+turned/2, places[k], turned) > within*turned || nearestPlace(places, turned, places[k]+turned/2) != j {
			lone = append(lone, j)
		}
	}
	return lone
}

// pitchesAbout is how many pitches of the intervals beside, the two at a slot's mark
// are together; 0 where that is no whole number: then the engine slows down there,
// and what looks like a gap may be none.
func pitchesAbout(lengths []float64, slot int) int {
	n := len(lengths)
	pitches := (lengths[slot] + lengths[(slot+n-1)%n]) / usualAbout(lengths, slot)
	if math.Abs(pitches-math.Round(pitches)) > wholePitches {
		return 0
	}
	return int(math.Round(pitches))
}

// usualAbout is a usual one of the intervals beside the two at a slot's mark.
func usualAbout(lengths []float64, slot int) float64 {
	n := len(lengths)
	var about []float64
	for d := 2; d <= besideForeign; d++ {
		about = append(about, lengths[(slot+d-1)%n], lengths[(slot+n-d)%n])
	}
	return median.Of(about)
}

// isOffPlace tells that a slot's mark is where the wheel has no place for a tooth.
func isOffPlace(lengths []float64, slot int) bool {
	behind := lengths[(slot+len(lengths)-1)%len(lengths)] / usualAbout(lengths, slot)
	return math.Abs(behind-math.Round(behind)) > wholePitches
}

// nearestPlace is the index of the place nearest to one, on a circle.
func nearestPlace(places []float64, around, to float64) int {
	nearest := 0
	for j := range places {
		if apart(places[j], to, around) < apart(places[nearest], to, around) {
			nearest = j
		}
	}
	return nearest
}

// apart is the distance of two places on a circle.
func apart(a, b, around float64) float64 { return math.Abs(math.Remainder(a-b, around)) }

// isForeign tells that a slot's pulse is much weaker or stronger than those
// about it.
func isForeign(strengths []float64, slot int) bool {
	n := len(strengths)
	var about []float64
	for d := 1; d <= besideForeign; d++ {
		about = append(about, strengths[(slot+d)%n], strengths[(slot+n-d)%n])
	}
	return unlikeTooth(strengths[slot] / median.Of(about))
}

func unlikeTooth(ratio float64) bool { return ratio < WeakAtMost || ratio > strongAtLeast }

// withoutUnlike finds the wheel of a run from which the pulses unlike those about them
// are taken, as those of a cam with several teeth are in every turn; nil where there are
// none, or too many for such.
func withoutUnlike(run []pulses.Mark) (kept []pulses.Mark, found *Pattern) {
	kept = likeTheOthers(run)
	if len(kept) == len(run) || float64(len(run)-len(kept)) > mostUnlike*float64(len(run)) {
		return nil, nil
	}
	in := NewIntervals(kept)
	if found = findInEither(kept, in); found == nil || !found.gapsHold(run, kept, in) {
		return nil, nil
	}
	found.Foreign = 1
	return kept, found
}

// gapsHold tells that the marks of a run that were not kept lie in gaps of the wheel.
func (p *Pattern) gapsHold(run, kept []pulses.Mark, in Intervals) bool {
	first, _, _ := p.Align(in.Lengths)
	passed := 0 // of those kept
	for _, m := range run {
		switch {
		case passed < len(kept) && m.At == kept[passed].At:
			passed++
		case passed > 0 && passed < len(kept) && p.Regular((first+passed-1)%len(p.Parts)):
			return false
		}
	}
	return true
}

// likeTheOthers are the marks of a run that are about as strong as those about them.
func likeTheOthers(run []pulses.Mark) (like []pulses.Mark) {
	flux := fluxes(run)
	for i, usual := range median.Running(flux, besideForeign) {
		if !unlikeTooth(flux[i] / usual) {
			like = append(like, run[i])
		}
	}
	return like
}

// WithoutForeign is a run, or about a turn of it, without the pulses that are no teeth:
// those unlike the others, or where they come in every second turn the one without which
// the wheel turns most evenly, if any.
func (p *Pattern) WithoutForeign(run []pulses.Mark) []pulses.Mark {
	if p.Foreign == 1 {
		return likeTheOthers(run)
	}
	run = run[:min(len(run), len(p.Parts)+besideForeign)]
	evenest := run
	_, least, _ := p.Align(NewIntervals(run).Lengths)
	flux := fluxes(run)
	for i, usual := range median.Running(flux, besideForeign) {
		if !unlikeTooth(flux[i] / usual) {
			continue
		}
		some := slices.Concat(run[:i], run[i+1:])
		if _, cost, _ := p.Align(NewIntervals(some).Lengths); cost < least {
			evenest, least = some, cost
		}
	}
	return evenest
}

const (
	mostFills = 6   // weak marks that are left out, at most, in the turns that a run is placed by
	fillCost  = 4.6 // logarithm of the odds that a mark is a tooth: a hundred to one
)

// WithoutFills is a run, or its first turns, without weak marks that make a gap look like
// teeth: those without which it fits the wheel better, by how evenly that turns and by the
// lobes. Without a tooth that a compression slows down, and the filter makes weak, it may
// turn as evenly, but the lobes tell that the gap is elsewhere. As likely as a misfit is its
// power of minus half the marks' number; see Misfit.
func (p *Pattern) WithoutFills(run []pulses.Mark) []pulses.Mark {
	if p.Wheel.Pitches == 0 || len(p.Wheel.Missing) == 0 {
		return run
	}
	kept := run[:min(len(run), AlignTurns*len(p.Parts)+1)]
	in := NewIntervals(kept)
	if _, cost, _ := p.Align(in.Lengths); cost <= alwaysGood {
		return run
	}
	_, misfit := p.Place(in)
	for range mostFills {
		without, least := p.withoutOneFill(kept)
		if without == nil || least > misfit*math.Exp(-2*fillCost/float64(len(kept))) {
			break
		}
		kept, misfit = without, least
	}
	return kept
}

// withoutOneFill is a run without the weak mark, between others, without which it fits the
// wheel best; nil where none is weak.
func (p *Pattern) withoutOneFill(run []pulses.Mark) (kept []pulses.Mark, least float64) {
	flux := fluxes(run)
	for i, usual := range median.Running(flux, besideForeign) {
		if i == 0 || i == len(run)-1 || flux[i] >= WeakAtMost*usual {
			continue
		}
		some := slices.Concat(run[:i], run[i+1:])
		if _, misfit := p.Place(NewIntervals(some)); kept == nil || misfit < least {
			kept, least = some, misfit
		}
	}
	return kept, least
}

// IsForeign tells that a pulse behind a tooth, so many times as strong and after such a
// part of the way to the next one, is one of those that are known to come in the gap there.
func (p *Pattern) IsForeign(slot int, strength, way float64) bool {
	return !p.Regular(slot) && unlikeTooth(strength) && way < wellBefore
}

// AreEven tells that speeds, or what is their inverse, are as even as where a late
// mark tells of lacking teeth.
func AreEven(speeds []float64) bool {
	return len(speeds) == 0 || slices.Max(speeds) < mostUneven*slices.Min(speeds)
}

// mostUneven is the ratio of speeds within a turn up to which a late mark tells of lacking
// teeth.
const mostUneven = 1.5
