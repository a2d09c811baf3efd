package threshold

import (
	"math"
	"slices"
)

const (
	// trimmed is the share of readings that may be wrong.
	trimmed = 0.3
	// trimSteps is how many shape parameters the search tries for a shape.
	trimSteps = 24
)

// suspects marks the readings far from the curve that passes closest to all
// but the trimmed share of them (least trimmed squares: Rousseeuw, J. Am. Stat.
// Assoc. 79 (1984) 871-880, with the scale in closed form).
func suspects(p points, scatter float64) []bool {
	marked := make([]bool, len(p.readings))
	keep := len(p.readings) - int(trimmed*float64(len(p.readings)))
	if keep == len(p.readings) || p.speeds <= leastSpeeds {
		return marked
	}
	curve, spread := leastTrimmed(p, keep)
	limit := outlierScatters * math.Max(spread, scatter)
	off := make([]float64, len(p.readings))
	for i, n := range p.speed {
		off[i] = p.lnV[i] - curve.lnAt(n)
		marked[i] = math.Abs(off[i]) > limit
	}
	return dropSupported(marked, off, scatter)
}

// support is how far off a reading must be, relatively, to support one that is
// off to the same side.
const support = 1.0 / 3

// dropSupported takes the mark from neighbours off to the same side: together
// they are a bend that no shape has, unless they are off by a factor that a
// wrong unit explains.
func dropSupported(marked []bool, off []float64, scatter float64) []bool {
	result := slices.Clone(marked)
	for i := range marked {
		for _, j := range []int{i - 1, i + 1} {
			if j < 0 || j >= len(marked) || !marked[i] || !marked[j] {
				continue
			}
			if _, slip := unitSlip(math.Exp(off[i]), scatter); !slip && off[j]/off[i] > support {
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
			for i, n := range p.speed {
				residuals[i] = p.lnV[i] - s.lnG(n, theta)
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
