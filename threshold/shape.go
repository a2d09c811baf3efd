package threshold

import "math"

// shape is a family of amplitude curves f(n) = k·g(n; θ) with one scale k and
// at most one shape parameter θ. Working with ln g keeps the scale additive.
type shape struct {
	name  string
	theta string // what θ is called in results; "" for a shape without
	lnG   func(n speed, theta float64) float64
	// slope is ∂ ln g/∂ ln θ, or ∂ ln g/∂θ where the search is not in ln θ; nil
	// for a shape that is never printed.
	slope func(n speed, theta float64) float64
	// span is where θ is looked for, given the speeds measured.
	span func(lowRPM, highRPM float64) (lo, hi float64)
	inLn bool
}

// speed is an engine speed with its logarithm, which every shape needs.
type speed struct{ rpm, ln float64 }

func speedAt(rpm float64) speed { return speed{rpm, math.Log(rpm)} }

// knee is the range of corner speeds looked for: from one far below the lowest
// reading, where the curve is flat, to one far above the highest, where it
// cannot be told from a straight line.
func knee(lowRPM, highRPM float64) (lo, hi float64) { return lowRPM / 50, highRPM * 50 }

// The shapes that may be printed, the simplest first.
var (
	// proportional is Faraday's law for a flux that depends on angle alone.
	proportional = &shape{
		name: "proportional",
		lnG:  func(n speed, _ float64) float64 { return n.ln },
	}
	power = &shape{
		name: "power", theta: "exponent",
		lnG:   func(n speed, b float64) float64 { return b * n.ln },
		slope: func(n speed, _ float64) float64 { return n.ln },
		span:  func(_, _ float64) (float64, float64) { return -1, 2 },
	}
	// rollOff is an R-L coil into a resistive load.
	rollOff = &shape{
		name: "roll-off", theta: "corner_rpm",
		lnG: func(n speed, nc float64) float64 {
			return n.ln - 0.5*math.Log1p((n.rpm/nc)*(n.rpm/nc))
		},
		slope: func(n speed, nc float64) float64 { u := (n.rpm / nc) * (n.rpm / nc); return u / (1 + u) },
		span:  knee, inLn: true,
	}
	saturating = &shape{
		name: "saturating", theta: "scale_rpm",
		lnG:   func(n speed, n0 float64) float64 { return math.Log(-math.Expm1(-n.rpm / n0)) },
		slope: func(n speed, n0 float64) float64 { u := n.rpm / n0; return -u / math.Expm1(u) },
		span:  knee, inLn: true,
	}
	rational = &shape{
		name: "rational", theta: "scale_rpm",
		lnG:   func(n speed, n0 float64) float64 { return n.ln - math.Log1p(n.rpm/n0) },
		slope: func(n speed, n0 float64) float64 { return (n.rpm / n0) / (1 + n.rpm/n0) },
		span:  knee, inLn: true,
	}
)

// Shapes that are never printed. They stand among the possible curves beyond
// the measured speeds: the danger there is a signal that flattens or falls, and
// nothing measured below may announce it.
var (
	// stretched bends over more decades of speed than the printed shapes do, as
	// eddy currents in the pole make it.
	stretched = &shape{
		name: "stretched", theta: "scale_rpm",
		lnG: func(n speed, n0 float64) float64 {
			root := math.Sqrt(n.rpm / n0)
			return math.Log(-math.Expm1(-root * math.Sqrt(root))) // to the power of 3/4
		},
		span: knee, inLn: true,
	}
	// fading falls ever more steeply, as several filters one after the other
	// make it.
	fading = &shape{
		name: "fading", theta: "scale_rpm",
		lnG:  func(n speed, n0 float64) float64 { return n.ln - n.rpm/n0 },
		span: knee, inLn: true,
	}
	// A coil into a capacitor and a load is of second order. It falls above its
	// corner: at once, after a level stretch, or after a resonance.
	damped   = secondOrder("damped", 1)
	filtered = secondOrder("filtered", math.Sqrt2/2)
	ringing  = secondOrder("ringing", 0.5)
)

// secondOrder is n ÷ |1 − u² + 2jζu| with u = n ÷ corner and ζ the damping.
func secondOrder(name string, damping float64) *shape {
	return &shape{
		name: name, theta: "corner_rpm",
		lnG: func(n speed, nc float64) float64 {
			u2 := (n.rpm / nc) * (n.rpm / nc)
			return n.ln - 0.5*math.Log((1-u2)*(1-u2)+4*damping*damping*u2)
		},
		span: knee, inLn: true,
	}
}

var (
	printable = []*shape{proportional, power, rollOff, saturating, rational}
	falling   = []*shape{damped, filtered, ringing, fading}
	possible  = append(append(append([]*shape(nil), printable...), stretched), falling...)
)

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
