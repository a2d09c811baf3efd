package replay

import "math"

// lowPass is a resistor and a capacitor before the input: the exact response to
// a wave that goes in straight lines from sample to sample.
type lowPass struct {
	keep, now, before float64 // weights of the last output, this and the last sample
	in, out           float64
	begun             bool
}

func newLowPass(cornerHz, stepS float64) *lowPass {
	x := 2 * math.Pi * cornerHz * stepS
	keep := math.Exp(-x)
	share := -math.Expm1(-x) / x
	return &lowPass{keep: keep, now: 1 - share, before: share - keep}
}

func (f *lowPass) next(x float64) float64 {
	if !f.begun {
		f.in, f.out, f.begun = x, x, true
	}
	f.out = f.keep*f.out + f.now*x + f.before*f.in
	f.in = x
	return f.out
}
