package wheels

import (
	"math"

	"armcurve/captures/teeth/pulses"
)

// An engine that begins to turn speeds up as much from tooth to tooth as a gap makes of an
// interval, and noise before it looks like teeth. A turn or two later the wheel shows where
// it is, and from there its teeth are counted backwards.

const (
	anchorTurns  = 2    // in which the wheel shows where it is, at most
	anchorBetter = 0.25 // of the misfit where the run begins, that is clearly less
	backBy       = 1.55 // times an interval may be what is due, by its time or by its lobes
)

// Anchor is a mark of a run whose slot is known.
type Anchor struct{ Index, Slot int }

// Begins finds the first mark of a run that is a tooth of the wheel, and its slot, where
// later marks fit the wheel far better than with a misfit; not ok where none do.
func (p *Pattern) Begins(run []pulses.Mark, misfit float64) (a Anchor, ok bool) {
	if p.Wheel.Pitches == 0 || p.Foreign > 0 {
		return a, false
	}
	least := anchorBetter * misfit
	turn := len(p.Parts)
	window := AlignTurns*turn + 1
	for k := 1; k <= 2*anchorTurns; k++ {
		from := (k*turn + 1) / 2
		if from+window > len(run) {
			break
		}
		if slot, m := p.Place(NewIntervals(run[from : from+window])); m < least {
			a, least, ok = Anchor{from, slot}, m, true
		}
	}
	if ok {
		a = p.goBack(run[:a.Index+window], a)
	}
	return a, ok
}

// goBack counts teeth backwards as long as the interval before is one of the wheel, by its
// time beside that of the next one, or by its lobes.
func (p *Pattern) goBack(run []pulses.Mark, a Anchor) Anchor {
	in := NewIntervals(run)
	due := func(pitches, part float64) bool {
		return math.Abs(math.Log(pitches/(part*float64(p.Wheel.Pitches)))) < math.Log(backBy)
	}
	for a.Index > 0 {
		before := (a.Slot + len(p.Parts) - 1) % len(p.Parts)
		part := p.Parts[before]
		byTime := in.Lengths[a.Index-1] / in.Lengths[a.Index] * p.Parts[a.Slot] * float64(p.Wheel.Pitches)
		if !due(byTime, part) && !due(in.ByLobe[a.Index-1], part) {
			break
		}
		a = Anchor{a.Index - 1, before}
	}
	return a
}
