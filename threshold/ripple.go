package threshold

import "math"

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

func (r ripple) at(rpm float64) float64 {
	if rpm <= 0 {
		return math.Min(r.atCranking, maxRipple)
	}
	exponent := 1.5
	if rpm < r.crankingRPM {
		exponent = 0.5
	}
	return math.Min(r.atCranking*math.Pow(r.crankingRPM/rpm, exponent), maxRipple)
}

// scaledTo returns the ripple at cranking speed that would show as measured at
// rpm.
func (r ripple) scaledTo(measured, rpm float64) float64 {
	unit := ripple{atCranking: 1, crankingRPM: r.crankingRPM}
	exponentFactor := math.Pow(unit.crankingRPM/rpm, map[bool]float64{true: 0.5, false: 1.5}[rpm < r.crankingRPM])
	return math.Min(measured/exponentFactor, maxRipple)
}
