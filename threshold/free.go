package threshold

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/interp"
)

// shapeFree names the curve that follows the readings where no shape does.
const shapeFree = "shape-free"

// freeCurve is a monotone cubic (Fritsch and Butland, SIAM J. Sci. Stat.
// Comput. 5 (1984) 300-304) through the medians of speed bins, from (0, 0).
type freeCurve struct {
	cubic   interp.FritschButland
	scatter float64 // of the readings about it, as far as it can be told
}

// binWidth is the ratio of speeds within which readings make one point of a
// shape-free curve: narrow enough that the curve is straight within.
const binWidth = 1.04

func newFreeCurve(p points) *freeCurve {
	rpms, volts := []float64{0}, []float64{0}
	for first := 0; first < len(p.readings); {
		last := first
		for last+1 < len(p.readings) && p.readings[last+1].RPM <= binWidth*p.readings[first].RPM {
			last++
		}
		rpm, v := binMedian(p, first, last)
		rpms, volts = append(rpms, rpm), append(volts, v)
		first = last + 1
	}
	c := &freeCurve{scatter: p.roughness()}
	// The speeds are above 0, finite and strictly rising, so the fit cannot fail.
	_ = c.cubic.Fit(rpms, volts)
	return c
}

// binMedian is the median of volts per rpm at the mean speed of the bin:
// taking the ratio keeps the growth with speed within the bin out of it.
func binMedian(p points, first, last int) (rpm, v float64) {
	ratios := make([]float64, 0, last-first+1)
	for i := first; i <= last; i++ {
		rpm += p.readings[i].RPM
		ratios = append(ratios, steadyPeakV(p.readings[i])/p.readings[i].RPM)
	}
	rpm /= float64(len(ratios))
	return rpm, rpm * median(ratios)
}

// median of the values, which it sorts.
func median(v []float64) float64 {
	slices.Sort(v)
	n := len(v)
	return (v[(n-1)/2] + v[n/2]) / 2
}

func (c *freeCurve) at(rpm float64) float64 { return c.cubic.Predict(rpm) }

// roughness is the relative scatter of readings about any smooth curve: what
// is left of each after a straight line between its neighbours.
func (p points) roughness() float64 {
	if len(p.lnV) < 3 {
		return 0
	}
	sum := 0.0
	for i := 1; i+1 < len(p.lnV); i++ {
		share := 0.5
		if lo, n, hi := p.speed[i-1].ln, p.speed[i].ln, p.speed[i+1].ln; hi > lo {
			share = (n - lo) / (hi - lo)
		}
		d := p.lnV[i] - (1-share)*p.lnV[i-1] - share*p.lnV[i+1]
		sum += d * d / (1 + share*share + (1-share)*(1-share))
	}
	return math.Sqrt(sum / float64(len(p.lnV)-2))
}

const (
	// grossMisfit is how many times the scatter expected of one reading a shape
	// may be off from them, however few they are.
	grossMisfit = 4
	// leastMisfit is the relative misfit of a shape that is worth leaving it for.
	leastMisfit = 0.01
	// clearMisfit is how many times the readings' own roughness the squared
	// residuals must be before the misfit counts as seen and not as chance.
	clearMisfit = 2.5
)

// lacksFit tells whether the readings follow a smooth curve that the shape does
// not: it is off by far, or residuals of neighbours go together (von Neumann's ratio of mean square
// to mean square successive difference) and amount to more than leastMisfit.
func lacksFit(f shapeFit, p points, scatter float64) bool {
	if f.scatter > grossMisfit*scatter {
		return true
	}
	if p.speeds < freeSpeeds {
		return false
	}
	residuals := p
	residuals.lnV = make([]float64, len(p.lnV))
	for i, n := range p.speed {
		residuals.lnV[i] = p.lnV[i] - f.curve.lnAt(n)
	}
	rough := residuals.roughness()
	total := f.scatter * f.scatter
	return total-rough*rough > leastMisfit*leastMisfit && total > clearMisfit*rough*rough
}
