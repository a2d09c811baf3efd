package threshold

import (
	"math"

	"armcurve/captures"
)

// maxRipple is the largest speed ripple reckoned with: a cranking engine's
// slowest instant is then 0.4 of its mean.
const maxRipple = 0.6

// ripple is the speed ripple within a revolution, (mean − slowest) ÷ mean,
// over engine speed: large while cranking, dying out with speed. The exponents
// are common practice: gas torque works against a flywheel whose energy grows
// with the square of speed; below cranking the starter smooths it.
type ripple struct {
	atCranking  float64
	crankingRPM float64
}

// newRipple takes the stated ripple, else the largest measured while cranking,
// else the largest that the weakest teeth measured there show, else the one
// assumed. steadyRatio is weakest ÷ mean tooth at steady speed.
func newRipple(readings []captures.Reading, o Options, steadyRatio float64) (r ripple, known bool) {
	r = ripple{atCranking: DefaultRipple, crankingRPM: o.CrankingRPM}
	if o.CrankingRipple.Known {
		r.atCranking = o.CrankingRipple.Value
		return r, true
	}
	for _, shown := range []func(captures.Reading) captures.Maybe{
		func(reading captures.Reading) captures.Maybe { return reading.Ripple },
		func(reading captures.Reading) captures.Maybe { return shownByWeakest(reading, steadyRatio) },
	} {
		for _, reading := range readings {
			value := shown(reading)
			if !value.Known || reading.RPM <= 0 || reading.RPM > 1.5*o.CrankingRPM {
				continue
			}
			atCranking := math.Min(value.Value/r.relative(reading.RPM), maxRipple)
			if !known || atCranking > r.atCranking {
				r.atCranking, known = atCranking, true
			}
		}
		if known {
			break
		}
	}
	return r, known
}

// shownByWeakest is the ripple by which the weakest tooth lies under what it
// would be at steady speed.
func shownByWeakest(r captures.Reading, steadyRatio float64) captures.Maybe {
	if !r.WeakestV.Known || !(r.PeakV.Value > 0) || r.Clipped {
		return captures.Maybe{}
	}
	return captures.Some(math.Max(0, 1-r.WeakestV.Value/(r.PeakV.Value*steadyRatio)))
}

// relative is the ripple at a speed ÷ the one at cranking speed.
func (r ripple) relative(rpm float64) float64 {
	exponent := 1.5
	if rpm < r.crankingRPM {
		exponent = 0.5
	}
	return math.Pow(r.crankingRPM/rpm, exponent)
}

func (r ripple) at(rpm float64) float64 {
	if r.atCranking == 0 {
		return 0
	}
	return math.Min(r.atCranking*r.relative(rpm), maxRipple)
}
