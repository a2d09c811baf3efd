package teeth

import (
	"math"
	"slices"

	"armcurve/captures/teeth/median"
)

// Every tooth of a wheel comes in every turn. A pulse that comes only in every
// second one, where teeth are missing and unlike those about it, is none: what
// turns with the camshaft got into the wave. So are weak ones that come in every turn
// where the wheel is the stated one without them.

const (
	counterpartWithin = 0.45  // pitches of where a tooth should be a turn later
	fewestInTurn      = 4     // teeth
	mostStrange       = 3     // such pulses in two turns
	mostUnlike        = 0.15  // of all marks in every turn
	strangeLess       = 0.75  // of the strength of the teeth about it, at most
	strangeMore       = 1.5   // or at least
	besideStrange     = 4     // teeth on either side
	leastOther        = 0.011 // of their height by which teeth of a wheel are unlike, to tell
	wholePitches      = 0.2   // by which a gap is off a whole number of pitches, at most
	wellBefore        = 0.9   // of a gap's length, where its end is not yet
)

// withoutSecondTurns finds the wheel of a run in which some pulses come only in
// every second turn; nil where there are no such. Turns that differ in more than
// these are those of a larger wheel.
func withoutSecondTurns(run []Mark, in intervals) *pattern {
	n := period(in.pitches)
	if n < 2*fewestInTurn || len(in.samples) < 2*n {
		return nil
	}
	lengths := bySlot(partsOfTurn(in.samples, n), n)
	strange := loneSlots(lengths)
	teeth := (n - len(strange)) / 2
	if len(strange) == 0 || len(strange) > mostStrange || (n-len(strange))%2 != 0 || teeth < fewestInTurn {
		return nil
	}
	strengths := bySlot(fluxes(run), n)
	if slices.ContainsFunc(strange, func(j int) bool { return !isStrange(strengths, j) }) {
		return nil
	}
	var kept []Mark
	for i, m := range run {
		if !slices.Contains(strange, i%n) {
			kept = append(kept, m)
		}
	}
	among := newIntervals(kept)
	pitches := layOut(among, teeth)
	if pitches == nil || !turnsEvenly(among.samples, pitches) || otherTeeth(kept, teeth) {
		return nil
	}
	for _, j := range strange {
		if gap := pitchesAbout(lengths, j); gap < 2 || !slices.Contains(pitches, gap) {
			return nil
		}
	}
	p := newPattern(shortest(pitches))
	p.strange = 2
	return p
}

// turnsEvenly tells that a wheel laid out so hardly slows down within a turn: where
// compressions do that, intervals tell little.
func turnsEvenly(samples []float64, pitches []int) bool {
	lengths := bySlot(partsOfTurn(samples, len(pitches)), len(pitches))
	for j := range lengths {
		lengths[j] /= float64(pitches[j])
	}
	return areEven(lengths)
}

// otherTeeth tells that the teeth of a turn are not those of the turn before: no
// wheel is perfect, and its own teeth come again as they were, but for those that
// the other pulses lie over.
func otherTeeth(run []Mark, turn int) bool {
	const quartile = 0.45 // of differences of two normal variates, over the deviation of one
	_, levels := lengthsAndLevels(run)
	bySlot := bySlot(levels, 2*turn)
	differ := make([]float64, turn)
	for j := range differ {
		differ[j] = math.Abs(bySlot[j] - bySlot[j+turn])
	}
	slices.Sort(differ)
	chance := math.Sqrt(unlike(levels, 2*turn) * float64(2*turn) / float64(len(levels)))
	return differ[turn/4]/quartile > max(leastOther, 2*chance)
}

func fluxes(run []Mark) []float64 {
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
	within := counterpartWithin * median.Of(slices.Clone(lengths)) / turned
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
	var about []float64
	for d := 2; d <= besideStrange; d++ {
		about = append(about, lengths[(slot+d-1)%n], lengths[(slot+n-d)%n])
	}
	pitches := (lengths[slot] + lengths[(slot+n-1)%n]) / median.Of(about)
	if math.Abs(pitches-math.Round(pitches)) > wholePitches {
		return 0
	}
	return int(math.Round(pitches))
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

// isStrange tells that a slot's pulse is much weaker or stronger than those
// about it.
func isStrange(strengths []float64, slot int) bool {
	n := len(strengths)
	var about []float64
	for d := 1; d <= besideStrange; d++ {
		about = append(about, strengths[(slot+d)%n], strengths[(slot+n-d)%n])
	}
	return unlikeTooth(strengths[slot] / median.Of(about))
}

func unlikeTooth(ratio float64) bool { return ratio < strangeLess || ratio > strangeMore }

// withoutUnlike finds the wheel of a run from which the pulses unlike those about them
// are taken, as those of a cam with several teeth are in every turn; nil where there are
// none, or too many for such.
func withoutUnlike(run []Mark) (kept []Mark, found *pattern) {
	kept = likeTheOthers(run)
	if len(kept) == len(run) || float64(len(run)-len(kept)) > mostUnlike*float64(len(run)) {
		return nil, nil
	}
	in := newIntervals(kept)
	if found = findInEither(kept, in); found == nil || !found.gapsHold(run, kept, in) {
		return nil, nil
	}
	found.strange = 1
	return kept, found
}

// gapsHold tells that the marks of a run that were not kept lie in gaps of the wheel.
func (p *pattern) gapsHold(run, kept []Mark, in intervals) bool {
	first, _, _ := p.align(in.samples)
	passed := 0 // of those kept
	for _, m := range run {
		switch {
		case passed < len(kept) && m.At == kept[passed].At:
			passed++
		case passed > 0 && passed < len(kept) && p.regular((first+passed-1)%len(p.parts)):
			return false
		}
	}
	return true
}

// likeTheOthers are the marks of a run that are about as strong as those about them.
func likeTheOthers(run []Mark) (like []Mark) {
	flux := fluxes(run)
	for i, usual := range median.Running(flux, besideStrange) {
		if !unlikeTooth(flux[i] / usual) {
			like = append(like, run[i])
		}
	}
	return like
}

// withoutStrange is a run, or about a turn of it, without the pulses that are no teeth:
// those unlike the others, or where they come in every second turn the one without which
// the wheel turns most evenly, if any.
func (p *pattern) withoutStrange(run []Mark) []Mark {
	if p.strange == 1 {
		return likeTheOthers(run)
	}
	run = run[:min(len(run), len(p.parts)+besideStrange)]
	evenest := run
	_, least, _ := p.align(newIntervals(run).samples)
	flux := fluxes(run)
	for i, usual := range median.Running(flux, besideStrange) {
		if !unlikeTooth(flux[i] / usual) {
			continue
		}
		some := slices.Concat(run[:i], run[i+1:])
		if _, cost, _ := p.align(newIntervals(some).samples); cost < least {
			evenest, least = some, cost
		}
	}
	return evenest
}

// mostFills is how many weak marks are left out, in the turns that a run is placed by.
const mostFills = 6

// withoutFills is a run, or its first turns, without weak marks that make a gap look like
// teeth: those without which the wheel turns more evenly. Without a tooth it would not.
func (p *pattern) withoutFills(run []Mark) []Mark {
	if p.wheel.Pitches == 0 || len(p.wheel.Missing) == 0 {
		return run
	}
	kept := run[:min(len(run), alignTurns*len(p.parts)+1)]
	_, cost, _ := p.align(newIntervals(kept).samples)
	if cost <= alwaysGood {
		return run
	}
	for range mostFills {
		without, least := p.withoutOneFill(kept)
		if without == nil || least >= cost {
			break
		}
		kept, cost = without, least
	}
	return kept
}

// withoutOneFill is a run without the weak mark, between others, without which the wheel
// turns most evenly; nil where none is weak.
func (p *pattern) withoutOneFill(run []Mark) (kept []Mark, least float64) {
	flux := fluxes(run)
	for i, usual := range median.Running(flux, besideStrange) {
		if i == 0 || i == len(run)-1 || flux[i] >= strangeLess*usual {
			continue
		}
		some := slices.Concat(run[:i], run[i+1:])
		if _, cost, _ := p.align(newIntervals(some).samples); kept == nil || cost < least {
			kept, least = some, cost
		}
	}
	return kept, least
}

// areEven tells that speeds, or what is their inverse, are as even as where a late
// mark tells of lacking teeth.
func areEven(speeds []float64) bool {
	return len(speeds) == 0 || slices.Max(speeds) < mostUneven*slices.Min(speeds)
}

// mostUneven is the ratio of speeds within a turn up to which a late mark tells of lacking
// teeth.
const mostUneven = 1.5
