package threshold

import (
	"math"
	"slices"

	"armcurve/threshold/leastsq"
)

// possibleCurves returns the curves that the points allow, each shape parameter
// in steps: of every shape that fits about as well as the best, all whose sum
// of squares is within t²·s0² of that shape's least.
func possibleCurves(fits []shapeFit, p points, confidence float64) ([]shapeCurve, error) {
	good, best := plausible(fits)
	s0 := math.Max(best, leastScatter)
	t := quantile(confidence, math.Max(float64(p.speeds-2), priorDF))
	var curves []shapeCurve
	for _, f := range good {
		spans, err := leastsq.Possible(f.shape.model(p), p.lnV, p.weight, t*t*s0*s0)
		if err != nil {
			return nil, err
		}
		for _, span := range spans {
			for _, point := range span {
				curves = append(curves, shapeCurve{f.shape, point.Linear[0], point.Theta})
			}
		}
	}
	return curves, nil
}

// possibleBeyond returns the curves that bound the amplitude beyond the
// readings, where the data do not decide the shape: of all that are possible
// those that are lowest or highest somewhere up to reachRPM.
func (c *Curve) possibleBeyond(fits []shapeFit, p points, confidence, reachRPM float64) ([]shapeCurve, error) {
	if c.free != nil {
		p = p.upper()
		var err error
		if fits, err = fitAll(p); err != nil {
			return nil, err
		}
	}
	curves, err := possibleCurves(fits, p, confidence)
	if err != nil {
		return nil, err
	}
	c.basis, c.possible = p, slices.Clone(curves)
	if c.free != nil {
		curves = joined(curves, speedAt(c.HighRPM), math.Log(c.free.at(c.HighRPM)))
	}
	return extremes(curves, compared(p, reachRPM)), nil
}

// upper returns the points that say most of what comes above them: those from
// a quarter of the highest speed on, more where that leaves few.
func (p points) upper() points {
	for share := 4.0; ; share *= 2 {
		part := p.from(p.highRPM() / share)
		if part.speeds >= rankedSpeeds || part.speeds == p.speeds {
			return part
		}
	}
}

// joined scales the curves to pass through one point.
func joined(curves []shapeCurve, n speed, lnV float64) []shapeCurve {
	for i, c := range curves {
		curves[i].lnK += lnV - c.lnAt(n)
	}
	return curves
}

// reachSteps is how many speeds curves are compared at above the readings, and
// a third as many below.
const reachSteps = 12

// compared are speeds from the lowest reading down to a tenth of it, and from
// the highest up to the reach.
func compared(p points, reachRPM float64) []speed {
	var list []speed
	for i := range reachSteps + 1 {
		share := float64(i) / reachSteps
		list = append(list, speedAt(p.highRPM()*math.Pow(math.Max(reachRPM/p.highRPM(), 1.05), share)))
		if i%3 == 0 {
			list = append(list, speedAt(p.lowRPM()*math.Pow(0.1, share)))
		}
	}
	return list
}

// extremes keeps the curves that are the lowest or the highest at one of the
// speeds.
func extremes(curves []shapeCurve, at []speed) []shapeCurve {
	keep := make([]bool, len(curves))
	for _, n := range at {
		lowest, highest := 0, 0
		least, most := math.Inf(1), math.Inf(-1)
		for i, c := range curves {
			v := c.lnAt(n)
			if v < least {
				lowest, least = i, v
			}
			if v > most {
				highest, most = i, v
			}
		}
		keep[lowest], keep[highest] = true, true
	}
	var kept []shapeCurve
	for i, c := range curves {
		if keep[i] {
			kept = append(kept, c)
		}
	}
	return kept
}
