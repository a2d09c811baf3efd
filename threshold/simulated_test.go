package threshold

import (
	"flag"
	"math"
	"math/rand/v2"
	"slices"

	"armcurve/captures"
)

// draws is how many sensors of each kind the simulations draw; more take longer
// and tell more.
var draws = flag.Int("draws", 40, "simulated sensors of each kind")

// manyDraws is from where on the simulations take their time.
const manyDraws = 400

// family is a kind of amplitude curve, for readings with a known truth.
type family struct {
	name string
	// g is volts, but for a scale, at a speed; form is 0 to 1, for what else
	// than the corner speed differs from sensor to sensor.
	g func(rpm, cornerRPM, form float64) float64
}

// Sensors of every shape that is printed.
var shaped = []family{
	{"proportional", func(n, _, _ float64) float64 { return n }},
	{"power", func(n, c, form float64) float64 { return c * math.Pow(n/c, 0.5+0.5*form) }},
	{"roll-off", func(n, c, _ float64) float64 { return n / math.Hypot(1, n/c) }},
	{"saturating", func(n, c, _ float64) float64 { return -c * math.Expm1(-n/c) }},
	{"rational", func(n, c, _ float64) float64 { return n / (1 + n/c) }},
}

// Sensors of none of them.
var unshaped = []family{
	{"tanh", func(n, c, _ float64) float64 { return c * math.Tanh(n/c) }},
	{"arctan", func(n, c, _ float64) float64 { return c * math.Atan(n/c) }},
	{"sharp knee", func(n, c, _ float64) float64 { return n / math.Pow(1+math.Pow(n/c, 4), 0.25) }},
	{"logarithm", func(n, c, _ float64) float64 { return c * math.Log1p(n/c) }},
	{"eddy currents", func(n, c, form float64) float64 {
		skin := (0.2 + 0.6*form) * math.Sqrt(n/c)
		return n / math.Hypot(1+skin, skin+n/c)
	}},
	{"stretched knee", func(n, c, form float64) float64 {
		p := 0.7 + 2.3*form
		return n / math.Pow(1+math.Pow(n/c, p), 1/p)
	}},
	{"stretched exponential", func(n, c, form float64) float64 {
		return -c * math.Expm1(-math.Pow(n/c, 0.6+0.4*form))
	}},
}

// Sensors that fall again above their corner.
var fallingAgain = []family{
	{"coil, capacitor and load", func(n, c, form float64) float64 {
		u, damping := n/c, 0.45+0.65*form
		return n / math.Hypot(1-u*u, 2*damping*u)
	}},
	{"critically damped", func(n, c, _ float64) float64 { return n / (1 + (n/c)*(n/c)) }},
	{"exponential fall", func(n, c, _ float64) float64 { return n * math.Exp(-n/c) }},
}

// Sensors that are odd inside the speeds read, or announce late what they do
// above.
var odd = []family{
	{"two poles", func(n, c, form float64) float64 {
		return n / math.Hypot(1, n/c) / math.Hypot(1, n/(c*(1+3*form)))
	}},
	{"level, then falling", func(n, c, form float64) float64 {
		return c * math.Tanh(n/c) / math.Hypot(1, n/(c*(2+2*form)))
	}},
	{"offset", func(n, c, form float64) float64 { return math.Hypot(n, 60*form) / math.Hypot(1, n/c) }},
	{"late start", func(n, c, form float64) float64 { return n / (1 + 60*form/n) / math.Hypot(1, n/c) }},
	{"kink", func(n, c, form float64) float64 { return math.Min(n, c+(0.2+0.6*form)*(n-c)) }},
}

// cliff falls at its corner without any announcement: a sensor that no readings
// below tell of.
var cliff = family{"cliff", func(n, c, _ float64) float64 { return n / math.Max(1, (n/c)*(n/c)*(n/c)) }}

func families() []family {
	return slices.Concat(shaped, unshaped, fallingAgain, odd)
}

// simulated is a sensor of a family and the readings taken of it.
type simulated struct {
	readings []captures.Reading
	truthV   func(rpm float64) float64
	highRPM  float64 // of the readings
}

// simulate takes n readings of a sensor, its corner between a fifth and five
// times the highest speed, with a scatter of 2 to 3 %.
func (f family) simulate(r *rand.Rand, n int) simulated {
	speeds := speedsTaken(r, n)
	high := speeds[n-1]
	corner, form := high*math.Pow(5, 2*r.Float64()-1), r.Float64()
	perRPM, scatter := 0.002*math.Pow(4, r.Float64()), 0.02+0.01*r.Float64()
	s := simulated{highRPM: high, truthV: func(rpm float64) float64 { return perRPM * f.g(rpm, corner, form) }}
	for i, rpm := range speeds {
		s.readings = append(s.readings, captures.Reading{
			Pos: captures.Pos{File: "simulated.csv", Line: i + 2}, RPM: rpm,
			PeakV: captures.Some(s.truthV(rpm) * math.Exp(scatter*r.NormFloat64())),
		})
	}
	return s
}

// speedsTaken go from cranking, or from idle, to a highest of 2000 to 5000 rpm,
// in steps of about the same ratio.
func speedsTaken(r *rand.Rand, n int) []float64 {
	low := 150 + 150*r.Float64()
	if r.IntN(3) == 0 {
		low = 600 + 400*r.Float64()
	}
	high := 2000 * math.Pow(2.5, r.Float64())
	speeds := make([]float64, n)
	for i := range speeds {
		share := float64(i) / float64(n-1)
		if i > 0 && i < n-1 {
			share += (r.Float64() - 0.5) * 0.6 / float64(n-1)
		}
		speeds[i] = math.Round(low * math.Pow(high/low, share))
	}
	return speeds
}
