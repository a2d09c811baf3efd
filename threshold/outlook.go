package threshold

import (
	"math"
	"slices"
)

// outlook is what readings leave possible at a speed: curves of every shape
// that fits about as well as the best, and how well each does. It foresees what
// one more reading at another speed would leave.
type outlook struct {
	p      points
	curves []likely
	shapes int
	at     []float64 // ln V of each curve at the speed
	truths []int     // the curves that a reading may turn out to lie on
}

// likely is a possible curve, its weighted sum of squares, and the number of
// its shape.
type likely struct {
	shapeCurve
	sse   float64
	shape int
}

// curvesPerShape is how many curves of a shape are looked at.
const curvesPerShape = 40

// newOutlook takes possible curves of the points, those of a shape together and
// by rising parameter. A reading may lie on those that are lowest or highest
// somewhere on the way to the speed.
func newOutlook(p points, curves []shapeCurve, atRPM float64) outlook {
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
	out.truths = out.outermost(atRPM)
	return out
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
		c.shape = out.shapes
		out.curves = append(out.curves, c)
	}
	out.shapes++
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
// curves that it may turn out to lie on.
func (out outlook) widthAfter(rpm float64) float64 {
	read, sum := out.lnAt(speedAt(rpm)), 0.0
	for _, truth := range out.truths {
		sum += out.widthIf(truth, read)
	}
	return sum / float64(len(out.truths))
}

// widthIf is the width after a reading that lies on one of the curves. A curve
// off it by d gains d²·n ÷ (n+1) in its sum of squares, for n speeds before,
// and moves by d ÷ (n+1): its scale adapts.
func (out outlook) widthIf(truth int, read []float64) float64 {
	n := float64(out.p.speeds)
	sse, least := make([]float64, len(read)), make([]float64, out.shapes)
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
	for _, c := range out.curves {
		scatter[c.shape] = math.Sqrt(least[c.shape] / float64(out.p.speeds+1-c.shapeCurve.shape.parameters()))
		best = math.Min(best, scatter[c.shape])
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

// outermost are the curves that are lowest or highest at some speed between the
// lowest reading and another speed.
func (out outlook) outermost(toRPM float64) []int {
	low := out.p.lowRPM()
	is := make([]bool, len(out.curves))
	for step := range reachSteps + 1 {
		lowest, highest := 0, 0
		values := out.lnAt(speedAt(low * math.Pow(toRPM/low, float64(step)/reachSteps)))
		for i, v := range values {
			if v < values[lowest] {
				lowest = i
			}
			if v > values[highest] {
				highest = i
			}
		}
		is[lowest], is[highest] = true, true
	}
	var list []int
	for i := range is {
		if is[i] {
			list = append(list, i)
		}
	}
	return list
}
