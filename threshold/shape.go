package threshold

import "math"

// shape is a family of amplitude curves f(n) = k·g(n; θ) with one scale k and
// at most one shape parameter θ. Working with ln g keeps the scale additive.
type shape struct {
	name  string
	theta string // what θ is called in results; "" for a shape without
	logAt func(rpm, theta float64) float64
	// slope is ∂ ln g/∂ ln θ, or ∂ ln g/∂θ where the search is not in ln θ.
	slope func(rpm, theta float64) float64
	// span is where θ is looked for, given the speeds measured.
	span func(lowRPM, highRPM float64) (lo, hi float64)
	inLn bool
}

// knee is the range of corner speeds looked for: from one far below the lowest
// reading, where the curve is flat, to one far above the highest, where it
// cannot be told from a straight line.
func knee(lowRPM, highRPM float64) (lo, hi float64) { return lowRPM / 50, highRPM * 50 }

// The shapes that are fitted and may be printed, the simplest first.
var (
	// proportional is Faraday's law for a flux that depends on angle alone.
	proportional = &shape{
		name:  "proportional",
		logAt: func(rpm, _ float64) float64 { return math.Log(rpm) },
	}
	power = &shape{
		name: "power", theta: "exponent",
		logAt: func(rpm, b float64) float64 { return b * math.Log(rpm) },
		slope: func(rpm, _ float64) float64 { return math.Log(rpm) },
		span:  func(_, _ float64) (float64, float64) { return -1, 2 },
	}
	// rollOff is an R-L coil into a resistive load.
	rollOff = &shape{
		name: "roll-off", theta: "corner_rpm",
		logAt: func(rpm, nc float64) float64 {
			return math.Log(rpm) - 0.5*math.Log1p((rpm/nc)*(rpm/nc))
		},
		slope: func(rpm, nc float64) float64 { u := (rpm / nc) * (rpm / nc); return u / (1 + u) },
		span:  knee, inLn: true,
	}
	saturating = &shape{
		name: "saturating", theta: "scale_rpm",
		logAt: func(rpm, n0 float64) float64 { return math.Log(-math.Expm1(-rpm / n0)) },
		slope: func(rpm, n0 float64) float64 { u := rpm / n0; return -u / math.Expm1(u) },
		span:  knee, inLn: true,
	}
	rational = &shape{
		name: "rational", theta: "scale_rpm",
		logAt: func(rpm, n0 float64) float64 { return math.Log(rpm) - math.Log1p(rpm/n0) },
		slope: func(rpm, n0 float64) float64 { return (rpm / n0) / (1 + rpm/n0) },
		span:  knee, inLn: true,
	}
	// filtered falls again above its corner: a coil into an input with a
	// filter capacitor, damped so that it does not ring. It is never printed;
	// it stands among the possible curves beyond the measured speeds because
	// a signal that falls there is the dangerous case, and nothing measured
	// below the corner announces it.
	filtered = &shape{
		name: "filtered", theta: "corner_rpm",
		logAt: func(rpm, nc float64) float64 {
			u := (rpm / nc) * (rpm / nc)
			return math.Log(rpm) - 0.5*math.Log1p(u*u)
		},
		slope: func(rpm, nc float64) float64 { u := math.Pow(rpm/nc, 4); return 2 * u / (1 + u) },
		span:  knee, inLn: true,
	}
)

var printable = []*shape{proportional, power, rollOff, saturating, rational}

// parameters is the number of parameters, the scale counted.
func (s *shape) parameters() int {
	if s.theta == "" {
		return 1
	}
	return 2
}

// scaleName is what k is called in results, with its unit.
func (s *shape) scaleName() string {
	switch s {
	case saturating:
		return "plateau_v"
	case power:
		return "scale_v"
	}
	return "v_per_rpm"
}
