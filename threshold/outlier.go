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
}

// ratio is reading ÷ curve.
func (o outlier) ratio() float64 { return o.reading.PeakV.Value / o.curveV }

// Numbers of the search for outliers.
const (
	// trimmed is the share of readings that may be wrong.
	trimmed = 0.3
	// outlierConfidence is the bound of the other readings that an outlier
	// lies outside of.
	outlierConfidence = 0.999
	// outlierScatters is how many times the expected scatter it must be off.
	outlierScatters = 4
	// trimSteps is how many shape parameters the search tries for a shape.
	trimSteps = 24
)

// splitOutliers returns the points to fit and the readings that the others
// contradict. Suspects are those far from the curve that fits most readings
// best; a suspect is an outlier if it then lies outside the bounds that the
// others alone give.
func splitOutliers(p points, o Options) (points, []outlier, error) {
	suspects := suspects(p, o.ReadingScatter)
	if !slices.Contains(suspects, true) {
		return p, nil, nil
	}
	rest := p.without(suspects)
	if rest.speeds < 3 {
		return p, nil, nil
	}
	c, err := newCurve(rest, o, outlierConfidence, p.highRPM())
	if err != nil {
		return p, nil, err
	}
	var out []outlier
	for i, r := range p.readings {
		e := c.At(r.RPM)
		off := math.Abs(math.Log(r.PeakV.Value / e.V))
		inside := r.PeakV.Value >= e.LowV && r.PeakV.Value <= e.HighV
		if suspects[i] && (inside || off < outlierScatters*o.ReadingScatter) {
			suspects[i] = false
		}
		if suspects[i] {
			out = append(out, outlier{r, e.V})
		}
	}
	return p.without(suspects), out, nil
}

// suspects marks the readings far from the curve that passes closest to all
// but the trimmed share of them (least trimmed squares: Rousseeuw, J. Am. Stat.
// Assoc. 79 (1984) 871-880, with the scale in closed form). Neighbours off to
// the same side support each other: they are a bend that no shape has, unless
// they are off by a factor that a wrong unit explains.
func suspects(p points, scatter float64) []bool {
	marked := make([]bool, len(p.readings))
	keep := len(p.readings) - int(trimmed*float64(len(p.readings)))
	if keep == len(p.readings) || p.speeds < 4 {
		return marked
	}
	curve, spread := leastTrimmed(p, keep)
	limit := outlierScatters * math.Max(spread, scatter)
	off := make([]float64, len(p.readings))
	for i, r := range p.readings {
		off[i] = p.lnV[i] - curve.lnAt(r.RPM)
		marked[i] = math.Abs(off[i]) > limit
	}
	return dropSupported(marked, off)
}

func dropSupported(marked []bool, off []float64) []bool {
	result := slices.Clone(marked)
	for i := range marked {
		for _, j := range []int{i - 1, i + 1} {
			if j < 0 || j >= len(marked) || !marked[i] || !marked[j] {
				continue
			}
			if _, unit := unitSlip(math.Exp(off[i])); !unit && off[i]*off[j] > 0 {
				result[i] = false
			}
		}
	}
	return result
}

// leastTrimmed finds the curve with the least sum of the keep smallest squared
// residuals, and their root mean square scaled up to a standard deviation.
func leastTrimmed(p points, keep int) (best shapeCurve, spread float64) {
	least := math.Inf(1)
	residuals := make([]float64, len(p.readings))
	for _, s := range printable {
		for _, theta := range s.trials(p) {
			for i, r := range p.readings {
				residuals[i] = p.lnV[i] - s.logAt(r.RPM, theta)
			}
			slices.Sort(residuals)
			lnK, sse := densest(residuals, keep)
			if sse /= float64(keep - s.parameters() + 1); sse < least {
				best, least = shapeCurve{s, lnK, theta}, sse
			}
		}
	}
	// For Gaussian scatter the smaller 70 % of the squares make up about a
	// third of what all would.
	return best, math.Sqrt(3 * least)
}

// trials are the shape parameters tried.
func (s *shape) trials(p points) []float64 {
	if s.span == nil {
		return []float64{0}
	}
	lo, hi := s.span(p.lowRPM(), p.highRPM())
	list := make([]float64, trimSteps)
	for i := range list {
		share := float64(i) / (trimSteps - 1)
		if s.inLn {
			list[i] = lo * math.Pow(hi/lo, share)
		} else {
			list[i] = lo + share*(hi-lo)
		}
	}
	return list
}

// densest finds the run of keep sorted values with the least sum of squares
// about its mean.
func densest(sorted []float64, keep int) (mean, sse float64) {
	sse = math.Inf(1)
	for first := 0; first+keep <= len(sorted); first++ {
		m, sum := 0.0, 0.0
		for _, v := range sorted[first : first+keep] {
			m += v
		}
		m /= float64(keep)
		for _, v := range sorted[first : first+keep] {
			sum += (v - m) * (v - m)
		}
		if sum < sse {
			mean, sse = m, sum
		}
	}
	return mean, sse
}

// unitSlip names the slip of unit or quantity that a factor off suggests.
func unitSlip(ratio float64) (what string, ok bool) {
	for _, slip := range []struct {
		factor float64
		what   string
	}{
		{10, "a ×10 probe on a channel left at ×1, undone twice, or a slipped decimal point"},
		{0.1, "a ×10 probe on a channel left at ×1"},
		{1000, "millivolts given as volts"},
		{0.001, "volts given as millivolts"},
		{2, "a peak-to-peak value given as the peak"},
		{0.5, "half of the peak, as if it had been halved as a peak-to-peak value"},
	} {
		if math.Abs(math.Log(ratio/slip.factor)) < unitCloseness {
			return slip.what, true
		}
	}
	return "", false
}

// unitCloseness is how close, relatively, a factor must be to a slip's.
const unitCloseness = 0.15

// doubt is an outlier on the low side at an end of the measured speeds. Nothing
// beyond it contradicts it: the amplitude may really fall there. It is left
// out of the curve, but the lower bound stays under it until it is measured
// again.
type doubt struct {
	lastGood, at captures.Reading
	up           bool // the doubtful reading is above all others
}

// lnLimit is the largest ln V that the doubtful reading allows at a speed:
// falling from the last good reading to it in a straight line of logarithms,
// held above it, in proportion to speed below it.
func (d doubt) lnLimit(rpm float64) float64 {
	lo, hi := d.lastGood, d.at
	if !d.up {
		lo, hi = d.at, d.lastGood
	}
	lnLo, lnHi := math.Log(lo.PeakV.Value), math.Log(hi.PeakV.Value)
	share := math.Log(rpm/lo.RPM) / math.Log(hi.RPM/lo.RPM)
	switch {
	case d.up && share < 0 || !d.up && share > 1:
		return math.Inf(1)
	case d.up:
		return lnLo + min(share, 1)*(lnHi-lnLo)
	case share < 0:
		return lnLo + math.Log(rpm/lo.RPM)
	}
	return lnLo + share*(lnHi-lnLo)
}

// doubtful picks the outliers on the low side beyond either end of the rest.
func doubtful(out []outlier, rest points) []doubt {
	var list []doubt
	first, last := rest.readings[0], rest.readings[len(rest.readings)-1]
	for _, o := range out {
		switch {
		case o.ratio() > 1:
		case o.reading.RPM > last.RPM:
			list = append(list, doubt{last, o.reading, true})
		case o.reading.RPM < first.RPM:
			list = append(list, doubt{first, o.reading, false})
		}
	}
	return list
}
