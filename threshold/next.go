package threshold

import (
	"fmt"
	"math"
	"slices"

	"armcurve/captures"
)

// Next is what is worth measuring next: where it counts most, the most telling
// thing not yet measured.
type Next struct {
	What string         // one of the Next… names
	RPM  captures.Maybe // the speed to measure at; unknown where any will do
	// AtRPM is the speed that stands to gain: the worst of a table that lacks
	// room, else the one where the peak is bounded least.
	AtRPM float64
	// Gain is how much more room, relatively, is to be expected there between
	// the lower bound of the weakest tooth and the noise ceiling.
	Gain float64
}

// What may be measured next.
const (
	NextPeak     = "peak"
	NextCranking = "cranking" // peak, weakest tooth and noise
	NextWeakest  = "weakest_v"
	NextRipple   = "weakest_v while cranking"
	NextHump     = "hump_v"
	NextNoise    = "noise_rms_v"
)

const (
	// worthMeasuring is the least gain that is worth telling of where a table
	// lacks room, worthKnowing elsewhere.
	worthMeasuring = 0.03
	worthKnowing   = 0.1
	// reachablePart is the part of the limit up to which speeds can be held
	// without load, where it was not stated.
	reachablePart = 0.6
	// heldFrom is the multiple of cranking speed from which on a running engine
	// can be held at a speed.
	heldFrom = 3
	// speedsTried is the number of speeds looked at, a constant ratio apart.
	speedsTried = 16
)

// next finds what to measure next; ok is false where nothing promises much.
// Where a table lacks room that may be a speed or a thing assumed; else only a
// speed.
func (r Result) next() (n Next, ok bool) {
	s, atRPM := r.Sensor, r.doubtfulRPM()
	if atRPM < s.unmeasuredBelowRPM || !s.noise.known() && !s.crankingMeasured {
		return Next{What: NextCranking, RPM: captures.Some(s.Options.CrankingRPM), AtRPM: atRPM}, true
	}
	best, _ := s.nextSpeed(atRPM)
	if !r.lacksRoom() {
		return best, best.Gain >= worthKnowing
	}
	for _, n := range s.assumptions(atRPM) {
		if n.Gain > best.Gain {
			best = n
		}
	}
	return best, best.Gain >= worthMeasuring
}

// lacksRoom tells whether a table misses a target for want of room between the
// noise and the weakest tooth.
func (r Result) lacksRoom() bool {
	w := r.Judgement.Worst
	return w.Score < 1-targetSlack && (w.HeldBackBy == HeldByNoise || w.HeldBackBy == HeldBySignal)
}

// doubtfulRPM is the worst speed of a table that lacks room, else the one where
// the peak is bounded least.
func (r Result) doubtfulRPM() float64 {
	if r.lacksRoom() {
		return math.Max(r.Judgement.Worst.RPM, r.Sensor.Options.CrankingLowRPM)
	}
	return r.Sensor.vaguestRPM()
}

// vaguestRPM is the speed where the peak is bounded least.
func (s *Sensor) vaguestRPM() float64 {
	widest, at := 0.0, s.LimitRPM
	for _, w := range s.windows {
		if e := s.Curve.At(w.RPM); w.Turning && e.HighV > widest*e.LowV {
			widest, at = e.HighV/e.LowV, w.RPM
		}
	}
	return at
}

// nextSpeed is the speed within reach where one more peak would bound the one
// at a speed most closely, over every curve still possible; ok is false where
// all speeds within reach have been measured.
func (s *Sensor) nextSpeed(atRPM float64) (n Next, ok bool) {
	out := newOutlook(s.Curve.basis, s.Curve.possible, s.Curve.readingSD, atRPM)
	before, least := out.width(), math.Inf(1)
	n = Next{What: NextPeak, AtRPM: atRPM}
	for _, rpm := range s.reachableSpeeds() {
		if after := out.widthAfter(rpm); after < least {
			least, n.RPM = after, captures.Some(rpm)
		}
	}
	if !n.RPM.Known {
		return n, false
	}
	n.Gain = math.Expm1(math.Max(0, before-least) / 2) // the lower bound has half of the width
	return n, true
}

// reachRPM is the highest speed that a peak can be measured at.
func (s *Sensor) reachRPM() float64 { return s.Options.ReachableRPM.Or(reachablePart * s.LimitRPM) }

// reachableSpeeds are the speeds at which a peak can be measured: while
// cranking, or from idle up without load, but not where one was.
func (s *Sensor) reachableSpeeds() []float64 {
	cranking := s.Options.CrankingRPM
	low, high := heldFrom*cranking, s.reachRPM()
	var speeds []float64
	if s.Curve.LowRPM > 1.5*cranking {
		speeds = append(speeds, cranking)
	}
	for i := range speedsTried {
		rpm := high
		if i > 0 {
			rpm = math.Round(high*math.Pow(low/high, float64(i)/(speedsTried-1))/50) * 50
		}
		if rpm >= low && rpm <= high {
			speeds = append(speeds, rpm)
		}
	}
	return slices.DeleteFunc(speeds, func(rpm float64) bool {
		return slices.ContainsFunc(s.points.readings, func(r captures.Reading) bool {
			return rpm <= sameSpeed*r.RPM && r.RPM <= sameSpeed*rpm
		})
	})
}

// assumptions are the things assumed, with the room at a speed that there would
// be if each turned out half as bad.
func (s *Sensor) assumptions(atRPM float64) []Next {
	var list []Next
	for _, a := range []struct {
		key, what string
		better    func(*Sensor)
	}{
		{"cranking_ripple", NextRipple, func(s *Sensor) { s.ripple.atCranking /= 2 }},
		{"weakest_ratio", NextWeakest, func(s *Sensor) { s.weakest.ratio = (1 + s.weakest.ratio) / 2 }},
		{"gap_hump", NextHump, func(s *Sensor) { s.noise.o.GapHump /= 2 }},
		{"noise_reach", NextNoise, func(s *Sensor) { s.noise.o.NoiseReach = (1 + s.noise.o.NoiseReach) / 2 }},
	} {
		if !slices.Contains(s.Assumed, a.key) {
			continue
		}
		better, noise := *s, *s.noise
		better.noise = &noise
		a.better(&better)
		n := Next{What: a.what, AtRPM: atRPM, Gain: better.Window(atRPM).roomier(s.Window(atRPM)) - 1}
		if a.what == NextRipple {
			n.RPM = captures.Some(s.Options.CrankingRPM)
		}
		list = append(list, n)
	}
	return list
}

// roomier is how many times another window's room a window has; where noise is
// not known or there is none, how many times its weakest tooth.
func (w Window) roomier(than Window) float64 {
	if math.IsInf(w.room(), 1) {
		return w.WeakestV / than.WeakestV
	}
	return w.room() / than.room()
}

// nextFindings tell what to measure next; nothing where the noise is not known,
// whose finding does.
func (r Result) nextFindings() []captures.Finding {
	if r.Next == nil || !r.Sensor.noise.known() {
		return nil
	}
	n, reachRPM := *r.Next, r.Sensor.reachRPM()
	f := captures.Finding{Kind: MeasureNext, Severity: captures.Note, FromRPM: n.RPM, ToRPM: n.RPM}
	more := fmt.Sprintf("there may be %s %% more room at %s rpm", whole(100*n.Gain), whole(n.AtRPM))
	switch n.What {
	case NextCranking:
		f.Text = "measured next, cranking would tell most"
		f.Advice = fmt.Sprintf("measure peak, lowest tooth and noise while cranking (about %s rpm), injection and ignition disabled", whole(n.RPM.Value))
	case NextPeak:
		e := r.Sensor.Curve.At(n.AtRPM)
		f.Text = fmt.Sprintf("the peak at %s rpm is only known to lie between %s and %s V; of the speeds up to %s rpm, a peak near %s rpm would narrow that most",
			whole(n.AtRPM), volts(e.LowV), volts(e.HighV), whole(reachRPM), whole(n.RPM.Value))
		f.Advice = fmt.Sprintf("measure a peak near %s rpm, without load", whole(n.RPM.Value))
	case NextRipple:
		f.Text = "measured next, the lowest tooth while cranking would tell most: " + more
		f.Advice = "enter the lowest tooth peak while cranking as weakest_v, or the ripple"
	case NextWeakest:
		f.Text = "measured next, the lowest tooth would tell most: " + more
		f.Advice = "at a steady speed note the lowest tooth peak of a whole turn as weakest_v"
	case NextHump:
		f.Text = "measured next, the hump inside a gap would tell most: " + more
		f.Advice = "note the largest excursion inside a gap as hump_v"
	case NextNoise:
		f.Text = "measured next, the noise in figures would tell most: " + more
		f.Advice = "take a capture of the noise, or note its rms as noise_rms_v: a largest value alone says little of what is still to come"
	}
	return []captures.Finding{f}
}
