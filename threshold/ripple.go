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
// else the one assumed.
func newRipple(readings []captures.Reading, o Options) (r ripple, known bool) {
	r = ripple{atCranking: DefaultRipple, crankingRPM: o.CrankingRPM}
	if o.CrankingRipple.Known {
		r.atCranking = o.CrankingRipple.Value
		return r, true
	}
	for _, reading := range readings {
		if !reading.Ripple.Known || reading.RPM <= 0 || reading.RPM > 1.5*o.CrankingRPM {
			continue
		}
		atCranking := math.Min(reading.Ripple.Value/r.relative(reading.RPM), maxRipple)
		if !known || atCranking > r.atCranking {
			r.atCranking, known = atCranking, true
		}
	}
	return r, known
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
