package threshold

import (
	"math"
	"slices"

	"armcurve/threshold/leastsq"
)

// shapeFit is one shape fitted to the logarithms of the peaks.
type shapeFit struct {
	shape *shape
	curve shapeCurve
	sse   float64 // weighted, so that a speed counts once however often read
	// scatter is the residual relative standard deviation, √(sse ÷ degrees of
	// freedom).
	scatter  float64
	unscaled [][]float64 // (J′WJ)⁻¹ in ln k and θ
	aicc     float64     // +Inf where too few speeds to rank
}

// shapeCurve is one curve of a shape.
type shapeCurve struct {
	shape      *shape
	lnK, theta float64
}

func (c shapeCurve) lnAt(n speed) float64 { return c.lnK + c.shape.lnG(n, c.theta) }

// model is the shape as a least-squares problem at the given speeds.
func (s *shape) model(p points) leastsq.Model {
	m := leastsq.Model{
		Columns: 1,
		At: func(theta float64, offset []float64, columns [][]float64) {
			for i, n := range p.speed {
				offset[i] = s.lnG(n, theta)
				columns[0][i] = 1
			}
		},
	}
	if s.span != nil {
		m.Lo, m.Hi = s.span(p.lowRPM(), p.highRPM())
		m.Log = s.inLn
	}
	return m
}

// fit fits the shape to the points; there must be more distinct speeds than
// the shape has parameters.
func (s *shape) fit(p points) (shapeFit, error) {
	r, err := leastsq.Fit(s.model(p), p.lnV, p.weight)
	if err != nil {
		return shapeFit{}, err
	}
	f := shapeFit{
		shape:    s,
		curve:    shapeCurve{s, r.Linear[0], r.Theta},
		sse:      r.SSE,
		unscaled: r.Unscaled,
		scatter:  math.Sqrt(r.SSE / float64(p.speeds-s.parameters())),
		aicc:     math.Inf(1),
	}
	// Below a part in ten thousand a difference in fit is rounding in the
	// readings, not evidence.
	floor := float64(p.speeds) * 1e-8
	if aicc, err := leastsq.AICc(math.Max(r.SSE, floor), p.speeds, s.parameters()+1); err == nil {
		f.aicc = aicc
	}
	return f, nil
}

// leverage is x′Cx: the variance of ln f at a speed in units of a reading's.
func (f shapeFit) leverage(n speed) float64 {
	c := f.unscaled
	v := c[0][0]
	if f.shape.theta != "" && len(c) > 1 {
		g := f.shape.slope(n, f.curve.theta)
		if f.shape.inLn {
			g /= f.curve.theta
		}
		v += 2*g*c[0][1] + g*g*c[1][1]
	}
	return math.Max(v, 0)
}

// rankedSpeeds is the least number of distinct speeds at which shapes are
// ranked.
const rankedSpeeds = 5

// fitAll fits every possible shape, in their order.
func fitAll(p points) ([]shapeFit, error) {
	fits := make([]shapeFit, len(possible))
	for i, s := range possible {
		f, err := s.fit(p)
		if err != nil {
			return nil, err
		}
		fits[i] = f
	}
	return fits, nil
}

// of returns the fits of some shapes.
func of(shapes []*shape, fits []shapeFit) []shapeFit {
	var some []shapeFit
	for _, f := range fits {
		if slices.Contains(shapes, f.shape) {
			some = append(some, f)
		}
	}
	return some
}

// leastScatter is the least relative scatter that fits are told apart by: real
// readings repeat no better, whatever a few of them suggest.
const leastScatter = 0.02

// plausible returns the fits whose scatter is at most twice the best one's.
func plausible(fits []shapeFit) (good []shapeFit, best float64) {
	best = math.Inf(1)
	for _, f := range fits {
		best = math.Min(best, f.scatter)
	}
	for _, f := range fits {
		if f.scatter <= 2*math.Max(best, leastScatter) {
			good = append(good, f)
		}
	}
	return good, best
}

// choose picks the shape to print: AICc's among the plausible ones, or, where
// there are too few speeds to rank, proportional if it passes within twice the
// scatter of every reading, else the shape with the least squares.
func choose(fits []shapeFit, p points, scatter float64) shapeFit {
	if p.speeds < rankedSpeeds && fits[0].within(p, 2*scatter) {
		return fits[0]
	}
	good, _ := plausible(fits)
	best := good[0]
	for _, f := range good[1:] {
		better := f.sse < best.sse
		if p.speeds >= rankedSpeeds {
			better = f.aicc < best.aicc
		}
		if better {
			best = f
		}
	}
	return best
}

// within tells whether every reading lies that close, relatively, to the fit.
func (f shapeFit) within(p points, limit float64) bool {
	for i, n := range p.speed {
		if math.Abs(p.lnV[i]-f.curve.lnAt(n)) > limit {
			return false
		}
	}
	return true
}
