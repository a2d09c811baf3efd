package threshold

import (
	"math"
	"slices"
)

// outlook is what readings leave possible at a speed: curves of every shape
// that fits about as well as the best, and how well each does. It foresees what
// one more reading at another speed would leave.
type outlook struct {
	p          points
	curves     []likely
	parameters []int     // of each shape
	at         []float64 // ln V of each curve at the speed
	truths     []truth
}

// truth is a curve that a reading may turn out to lie on, and how likely it is,
// relatively, after the readings there are.
type truth struct {
	curve  int
	weight float64
}

// likely is a possible curve, its weighted sum of squares, and the number of
// its shape.
type likely struct {
	shapeCurve
	sse   float64
	shape int
}

// curvesPerShape is how many curves of a shape are looked at, and truthsApart is
// how many of them lie between those that may be true.
const curvesPerShape, truthsApart = 40, 10

// unlikely is the likelihood, relative to the best curve's, under which a curve
// is left out.
const unlikely = 0.1

// newOutlook takes possible curves of the points, those of a shape together and
// by rising parameter, and the scatter of one reading.
func newOutlook(p points, curves []shapeCurve, scatter, atRPM float64) outlook {
	out := outlook{p: p}
	for first := 0; first < len(curves); {
		last := first
		for last+1 < len(curves) && curves[last+1].shape == curves[first].shape {
			last++
		}
		out.sample(curves[first].shape, curves[first].theta, curves[last].theta)
		first = last + 1
	}
	out.at = out.lnAt(speedAt(atRPM))
	out.truths = out.likelihoods(scatter)
	return out
}

// likelihoods weigh some curves of every shape by the chance of the readings
// there are if one is true, that of normal scatter.
func (out outlook) likelihoods(scatter float64) []truth {
	least := math.Inf(1)
	for _, c := range out.curves {
		least = math.Min(least, c.sse)
	}
	var list []truth
	for i := 0; i < len(out.curves); i += truthsApart {
		rise := (out.curves[i].sse - least) / (scatter * scatter)
		if weight := math.Exp(-rise / 2); weight > unlikely {
			list = append(list, truth{i, weight})
		}
	}
	return list
}

// sample adds curves of one shape, evenly spread over its possible parameters.
func (out *outlook) sample(s *shape, lo, hi float64) {
	steps := curvesPerShape - 1
	if lo == hi {
		steps = 0
	}
	for i := range steps + 1 {
		theta, share := lo, float64(i)/math.Max(1, float64(steps))
		if s.inLn {
			theta = lo * math.Pow(hi/lo, share)
		} else {
			theta = lo + share*(hi-lo)
		}
		c := out.p.through(s, theta)
		c.shape = len(out.parameters)
		out.curves = append(out.curves, c)
	}
	out.parameters = append(out.parameters, s.parameters())
}

// through is the curve of a shape and parameter with the least squares.
func (p points) through(s *shape, theta float64) likely {
	sum, weight := 0.0, 0.0
	for i, n := range p.speed {
		sum += p.weight[i] * (p.lnV[i] - s.lnG(n, theta))
		weight += p.weight[i]
	}
	c := likely{shapeCurve: shapeCurve{s, sum / weight, theta}}
	for i, n := range p.speed {
		d := p.lnV[i] - c.lnAt(n)
		c.sse += p.weight[i] * d * d
	}
	return c
}

// lnAt is ln V of every curve at a speed.
func (out outlook) lnAt(n speed) []float64 {
	list := make([]float64, len(out.curves))
	for i, c := range out.curves {
		list[i] = c.lnAt(n)
	}
	return list
}

// width is how far apart, in ln V, the curves are.
func (out outlook) width() float64 { return slices.Max(out.at) - slices.Min(out.at) }

// widthAfter is the same after one more reading at a speed, on average over the
// curves that it may turn out to lie on, the likelier the more.
func (out outlook) widthAfter(rpm float64) float64 {
	read, sum, weight := out.lnAt(speedAt(rpm)), 0.0, 0.0
	sse := make([]float64, len(read))
	for _, t := range out.truths {
		sum += t.weight * out.widthIf(t.curve, read, sse)
		weight += t.weight
	}
	return sum / weight
}

// widthIf is the width after a reading that lies on one of the curves. A curve
// off it by d gains d²·n ÷ (n+1) in its sum of squares, for n speeds before,
// and moves by d ÷ (n+1): its scale adapts. sse is room for their sums.
func (out outlook) widthIf(truth int, read, sse []float64) float64 {
	n := float64(out.p.speeds)
	least := make([]float64, len(out.parameters))
	for i := range least {
		least[i] = math.Inf(1)
	}
	for i, c := range out.curves {
		d := read[truth] - read[i]
		sse[i] = c.sse + d*d*n/(n+1)
		least[c.shape] = math.Min(least[c.shape], sse[i])
	}
	limits := out.limits(least)
	lo, hi := math.Inf(1), math.Inf(-1)
	for i, c := range out.curves {
		if sse[i] <= limits[c.shape] {
			v := out.at[i] + (read[truth]-read[i])/(n+1)
			lo, hi = math.Min(lo, v), math.Max(hi, v)
		}
	}
	return hi - lo
}

// limits are the sums of squares up to which curves of each shape stay
// possible, by the rules of possibleCurves for one speed more.
func (out outlook) limits(least []float64) []float64 {
	scatter, best := make([]float64, len(least)), math.Inf(1)
	for i, parameters := range out.parameters {
		scatter[i] = math.Sqrt(least[i] / float64(out.p.speeds+1-parameters))
		best = math.Min(best, scatter[i])
	}
	s0 := math.Max(best, leastScatter)
	limits := make([]float64, len(least))
	for i := range limits {
		if scatter[i] <= 2*s0 {
			limits[i] = least[i] + likelyRise*s0*s0
		} else {
			limits[i] = -1
		}
	}
	return limits
}

// likelyRise is t² for the usual confidence and few readings, which is near
// enough to compare speeds by.
const likelyRise = 3.3
