package threshold

import (
	"math"

	"armcurve/captures"
)

// Proof is what any table with the same rows could keep. A score is the least
// of all margins ÷ their targets over every judged speed, here not capped at 1.
type Proof struct {
	// Best is the largest score of a table that the input can hold: no table
	// with these rows beats it. Unknown where noise bounds no threshold from
	// below, so that nothing keeps a score from growing, and where a speed is
	// left without a threshold.
	Best captures.Maybe
	// BestRPM is where the table of that score is tightest.
	BestRPM float64
	// Window is the best score that the narrowest window allows to any
	// threshold there.
	Window float64
	// AxisCost, LimitCost and StepCost are the parts of the score lost one
	// after the other: to what the controller does between rows, to the limits
	// of a threshold, and to its step.
	AxisCost, LimitCost, StepCost float64
}

// prove finds the bounds for tables with rows at the given speeds.
func (s *Sensor) prove(speeds []float64) Proof {
	if len(speeds) == 0 {
		return Proof{}
	}
	f := s.newFrame(speeds)
	p := Proof{Window: f.windowScore()}
	if math.IsInf(p.Window, 1) || f.leavesOut() {
		return p
	}
	f.keep(f.parts())
	step, in := f.steps.v, s.Options.Input
	least := leastScore // a threshold is above 0
	axis := f.mostBetween(sides{least, math.MaxInt32})
	limit := f.mostBetween(sides{math.Max(least, in.MinV.Or(0)/step), in.MaxV.Or(math.MaxInt32*step) / step})
	best := f.most()
	p.Best = captures.Some(best)
	p.AxisCost, p.LimitCost, p.StepCost = 1-axis/p.Window, 1-min(1, limit/axis), 1-min(1, best/limit)
	f.want(best * (1 - leastGain))
	p.BestRPM = s.Judge(f.table(f.nearest())).Worst.RPM
	return p
}

// leavesOut tells whether some row is to have no threshold.
func (f *frame) leavesOut() bool {
	for _, g := range f.groups {
		if g.none {
			return true
		}
	}
	return false
}

const (
	// clearlyBetter is the ratio of scores from which on another table is
	// better and not just rounded otherwise.
	clearlyBetter = 1.02
	// clearCost is the part of a score that the window does not answer for from
	// which on what costs it is to blame, rather than the window.
	clearCost = 0.05
)

// heldBack completes the worst speed of a table with what keeps the score from
// being larger. Where a target is missed, those are its thresholds, if others
// in the same rows would do clearly better; else it is whatever costs the bound
// most, the window at its narrowest included.
func (r *Result) heldBack() {
	w, p := &r.Judgement.Worst, r.Proof
	switch {
	case !p.Best.Known:
		w.HeldBackBy, w.NoisePart = narrowSide(r.Sensor.Window(w.RPM), w.SignalMargin, w.NoiseMargin)
	case min(1, p.Best.Value) > clearlyBetter*w.Score:
		w.HeldBackBy = HeldByThreshold
	default:
		w.HeldBackBy, w.NoisePart = p.heldBack(r.Sensor)
	}
}

// heldBack names what keeps the best score from being larger.
func (p Proof) heldBack(s *Sensor) (by, part string) {
	most := math.Max(clearCost, 1-p.Window)
	for _, cost := range []struct {
		by   string
		part float64
	}{{HeldByAxis, p.AxisCost}, {HeldByLimit, p.LimitCost}, {HeldByStep, p.StepCost}} {
		if cost.part > most {
			by, most = cost.by, cost.part
		}
	}
	if by != "" {
		return by, ""
	}
	return narrowSide(s.Window(p.BestRPM), captures.Maybe{}, captures.Maybe{})
}

// What may hold a table back.
const (
	HeldBySignal    = "signal"
	HeldByNoise     = "noise"
	HeldByAxis      = "axis"      // what the controller does between rows
	HeldByLimit     = "limit"     // of a threshold
	HeldByStep      = "step"      // of a threshold
	HeldByThreshold = "threshold" // the table's own, where the rows allow better
)

// narrowSide names the side of a window on which less of the margin wanted is
// left, the noise where as much is left on both, with the part that sets it.
func narrowSide(w Window, signal, noise captures.Maybe) (side, part string) {
	wantSignal, wantNoise := w.wanted()
	onSignal := signal.Known && noise.Known && signal.Value/wantSignal*clearlyBetter < noise.Value/wantNoise
	if w.NoiseV.Or(0) <= 0 || onSignal {
		return HeldBySignal, ""
	}
	return HeldByNoise, w.NoisePart
}
