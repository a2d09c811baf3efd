package threshold

import (
	"math"
	"slices"

	"armcurve/captures"
)

// outlier is a reading that the others contradict.
type outlier struct {
	reading captures.Reading
	curveV  float64 // what the others say at its speed
	scatter float64 // expected of a reading, relative
}

// ratio is reading ÷ curve.
func (o outlier) ratio() float64 { return o.reading.PeakV.Value / o.curveV }

// Numbers of the search for outliers.
const (
	// outlierConfidence is that of the curves which the other readings allow.
	outlierConfidence = 0.999
	// outlierScatters is how many times the expected scatter it must be off.
	outlierScatters = 4
	// goodScatters is the scatter, in the expected one, of a fit that leaves
	// nothing to explain.
	goodScatters = 1.5
	// fallSpeeds is the least number of distinct speeds at which a fall that
	// fits every reading is believed before a slip of a factor of 2 or 10.
	fallSpeeds = 7
)

// splitOutliers returns the points to fit and the readings that the others
// contradict: the one that a slip explains, if all others then fit, or else the
// suspects that lie clear of every curve the others alone allow. There are none
// where a shape fits every reading.
func splitOutliers(p points, fits []shapeFit, o Options) (points, []outlier, error) {
	good := goodScatters * o.ReadingScatter
	falls := anyWithin(of(falling, fits), good)
	if anyWithin(of(printable, fits), good) || falls && p.speeds >= fallSpeeds {
		return p, nil, nil
	}
	if slip, ok, err := loneSlip(p, o); err != nil {
		return p, nil, err
	} else if ok {
		return p.without(p.only(slip.reading)), []outlier{slip}, nil
	}
	marked := suspects(p, o.ReadingScatter)
	rest := p.without(marked)
	if !slices.Contains(marked, true) || rest.speeds < leastSpeeds {
		return p, nil, nil
	}
	out, err := contradicted(p, rest, marked, o)
	if err != nil || len(out) == 0 || falls && !slices.ContainsFunc(out, outlier.isSlip) {
		return p, nil, err
	}
	for i, r := range p.readings {
		marked[i] = slices.ContainsFunc(out, func(o outlier) bool { return o.reading == r })
	}
	return p.without(marked), out, nil
}

func anyWithin(fits []shapeFit, scatter float64) bool {
	return slices.ContainsFunc(fits, func(f shapeFit) bool { return f.scatter <= scatter })
}

// contradicted returns the suspects that lie clear of what the rest allow.
func contradicted(p, rest points, suspects []bool, o Options) ([]outlier, error) {
	fits, err := fitAll(rest)
	if err != nil {
		return nil, err
	}
	c, err := newCurve(rest, fits, o, outlierConfidence, p.highRPM())
	if err != nil {
		return nil, err
	}
	allowed, err := possibleCurves(of(printable, fits), rest, outlierConfidence)
	if err != nil {
		return nil, err
	}
	if c.free != nil {
		allowed = append(allowed, c.beyond...)
	}
	clear := math.Max(outlierScatters*o.ReadingScatter, c.bound)
	var out []outlier
	for i, r := range p.readings {
		if suspects[i] && distance(allowed, p.speed[i], p.lnV[i]) > clear {
			out = append(out, outlier{r, c.At(r.RPM).V, o.ReadingScatter})
		}
	}
	return out, nil
}

// distance is how far a value lies outside the curves, in ln V; 0 between them.
func distance(curves []shapeCurve, n speed, lnV float64) float64 {
	low, high := math.Inf(1), math.Inf(-1)
	for _, c := range curves {
		v := c.lnAt(n)
		low, high = math.Min(low, v), math.Max(high, v)
	}
	return math.Max(0, math.Max(low-lnV, lnV-high))
}
