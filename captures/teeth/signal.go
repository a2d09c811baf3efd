package teeth

import (
	"fmt"
	"math"

	"armcurve/captures/teeth/pulses"
	"armcurve/captures/teeth/wheels"
)

const (
	squareThird = 0.25 // third harmonic over the fundamental; a square wave has 1/3, a sine none
	squareEnds  = 0.62 // part of the time at the end levels; a sine has 0.41
	surelyEnds  = 0.88 // of a square; a sine cut off at 0.35 of its height has 0.82
	sharpEnds   = 0.95 // of a square with sharp edges; a sine cut off at 0.1 of its height has as much
	leastHeld   = 0.6  // of each half of the range at its end; a round top has 0.43
	restingEnds = 0.75 // in a gap of two pitches; the teeth beside it have one pitch
	evenShare   = 0.75 // of the intervals have to be like their neighbours, where no wheel is found
	wholeShare  = 0.5  // of the teeth in whole turns prove a wheel
)

// signal judges what made the wave.
func (r *run) signal() (signal, why string) {
	if why, are := r.twoLevel.areTwo(r.w.step); are {
		return Square, why
	}
	run := longestRun(r.marks)
	if len(run) < 6 {
		return Unknown, "no wheel can be seen turning: too few pulses"
	}
	if p := r.numberer.Pattern; p == nil || float64(r.m.Revolutions*len(p.Parts)) < wholeShare*float64(r.m.Teeth) {
		share := wheels.Evenness(run)
		if rises := longestRun(r.swings[1].marks); len(rises) >= 6 {
			// With the wires swapped the rises are the even ones.
			share = max(share, wheels.Evenness(rises))
		}
		if share < evenShare {
			return Unknown, fmt.Sprintf("only %.0f %% of the pulses come at even intervals: noise, or no wheel", 100*share)
		}
	}
	shape := r.gatherer.shape()
	if hz, is := r.mains(run); is {
		const why = "pulses without a gap come at a steady %.3g Hz, as mains hum does"
		switch {
		case r.numberer.Pattern == nil:
			return Unknown, fmt.Sprintf(why, hz)
		case shape.isSine():
			return Unknown, fmt.Sprintf(why+", and they are a pure sine", hz)
		}
		// The wheel was stated, without a gap: an engine may turn at that speed.
	}
	switch {
	case shape.n == 0 && r.gatherer.cut.n == 0:
		return Reluctor, "too little was seen to judge the shape"
	case shape.n == 0:
		return r.cutSignal()
	}
	third, ends := shape.thirdRatio(), shape.endShare()
	why = r.levels(&shape)
	slope, lo, hi := r.gatherer.slope()
	grows := true
	if hi > 1.5*lo {
		why += fmt.Sprintf(", amplitude as speed to the power of %.2f from %.0f to %.0f rpm", slope, lo, hi)
		grows = slope >= 0.05
	}
	switch {
	case ends > surelyEnds && shape.heldShare() > leastHeld && !r.restsInGap():
		return Square, why
	case third > squareThird && ends > squareEnds && !grows && r.showsGap() && !r.restsInGap():
		return Square, why
	case third > squareThird && ends > squareEnds && !r.restsInGap():
		return Unknown, why + ambiguous
	case !grows && !r.showsGap() && r.gatherer.cut.n == 0: // what is cut off does not grow
		return Unknown, why + ": a reluctor's grows with speed"
	}
	return Reluctor, why
}

// cutSignal judges a wave all of whose teeth stand at the end of the range. A switch
// has no third level, in a gap either; a reluctor that the instrument cuts off is at
// rest there, and its flanks take their part of every pitch.
func (r *run) cutSignal() (signal, why string) {
	cut := &r.gatherer.cut
	ends := cut.endShare()
	why = r.levels(cut)
	switch {
	case ends <= surelyEnds || cut.heldShare() <= leastHeld || r.restsInGap():
		return Reluctor, why + ", where the instrument cuts it off"
	case ends <= sharpEnds:
		return Unknown, why + ambiguous
	}
	return Square, why
}

const ambiguous = ": a square signal with slow edges, or a wave that the instrument cuts off"

// levels tells a wave's shape in numbers.
func (r *run) levels(s *shape) string {
	text := fmt.Sprintf("third harmonic %.0f %% of the fundamental, %.0f %% of the time at the end levels", 100*s.thirdRatio(), 100*s.endShare())
	if gap := r.gatherer.gapEnds(); !math.IsNaN(gap) {
		text += fmt.Sprintf(", %.0f %% of it in the gap", 100*gap)
	}
	return text
}

// restsInGap tells that in a gap the wave is between its end levels, at rest.
func (r *run) restsInGap() bool { return r.gatherer.gapEnds() < restingEnds }

// showsGap tells that the wheel that was found has a gap, or teeth at uneven
// angles.
func (r *run) showsGap() bool {
	p := r.numberer.Pattern
	return p != nil && (p.Wheel.Gapped() || p.Wheel.Pitches == 0 && len(p.Parts) > 1)
}

// Mains hum, of itself and of a rectifier.
var mainsHz = []float64{50, 60, 100, 120}

const (
	mainsOff    = 0.004 // by which mains is off its frequency, as a part of it (common practice)
	mainsSteady = 0.003 // by which it changes within seconds
	mainsPulses = 40
)

// mains tells that pulses without a gap come so steadily, at a frequency that
// mains makes, as no engine turns.
func (r *run) mains(run []pulses.Mark) (hz float64, is bool) {
	if r.showsGap() || len(run) < mainsPulses {
		return 0, false
	}
	const lot = mainsPulses / 4
	slowest, fastest := math.Inf(1), 0.0
	for i := lot; i < len(run); i += lot {
		rate := lot / (run[i].At - run[i-lot].At)
		slowest, fastest = min(slowest, rate), max(fastest, rate)
	}
	hz = float64(len(run)-1) / (run[len(run)-1].At - run[0].At) / r.info.StepS
	for _, known := range mainsHz {
		if math.Abs(hz/known-1) < mainsOff && fastest < (1+mainsSteady)*slowest {
			return hz, true
		}
	}
	return hz, false
}

// shape is that of the wave where it looks least like a square: an amplifier or
// an instrument may cut off the strongest teeth.
func (g *gatherer) shape() shape {
	var least shape
	for _, s := range g.shapes {
		if s.n >= 2 && (least.n == 0 || s.endShare() < least.endShare()) {
			least = s
		}
	}
	return least
}

// slope is the power of speed that the amplitude follows between the lowest and
// the highest speeds met.
func (g *gatherer) slope() (power, lowRPM, highRPM float64) {
	all := g.bins.measured()
	if len(all) < 2 {
		return math.NaN(), 0, 0
	}
	a, b := all[0], all[len(all)-1]
	return a.powerTo(b), a.rpmMean(), b.rpmMean()
}
