package leastsq

import (
	"errors"
	"fmt"
	"math"
	"slices"
)

// A Loss decides what an observation far off the fit counts.
type Loss int

const (
	// Huber lets an observation beyond its tuning constant pull with constant
	// force, however far it lies.
	Huber Loss = iota
	// Bisquare (Tukey) lets it go: beyond its tuning constant it does not pull.
	Bisquare
)

// Tuning constants for 95 % efficiency under Gaussian errors (Holland and
// Welsch, Commun. Statist. A6 (1977) 813-827).
const (
	huberTuning    = 1.345
	bisquareTuning = 4.685
)

// madToSD makes the median absolute deviation of Gaussian errors their standard
// deviation: 1/Φ⁻¹(3/4), as rounded in the literature.
const madToSD = 1 / 0.6745

// Robust says how FitRobust weighs observations.
type Robust struct {
	Loss Loss
	// Tuning is in units of the scale; 0 means 1.345 (Huber) or 4.685 (Bisquare).
	Tuning float64
	// Scale, where above 0, is the residual scale and stays fixed. Otherwise it
	// is the median absolute residual ÷ 0.6745, found anew in every step.
	Scale float64
	// MinScale is the least scale believed: with few observations and some
	// parameters to fit them, the median residual can be next to nothing.
	MinScale float64
	// Resistant begins at a fit of least trimmed squares instead of least
	// squares. It costs some dozen fits more; without it a gross outlier at an
	// end of the observations can bend θ so far that it seems to fit.
	Resistant bool
}

// RobustResult is a fit with bounded influence.
type RobustResult struct {
	// Result: SSE counts the final weights. SD and Unscaled are those of the
	// asymptotic covariance (Huber, "Robust Statistics", 1981, section 7.6), so
	// that SD²·Unscaled is the covariance as for a plain fit.
	Result
	// Scale of the residuals of an observation of weight 1.
	Scale float64
	// Weights are the final ones, 0 to 1 each, times those given.
	Weights []float64
	// Converged: another step would change neither fit nor scale. If false, the
	// scale kept jumping between values, as happens with few observations and no
	// MinScale, and was held at the last one; or the scale is so small that too
	// few observations would keep a weight, and the fit before that stands.
	Converged bool
}

const (
	// robustSteps may go by with the scale free, and as many again with it held.
	robustSteps = 200
	// settled is the change of the residuals, in scales, at which steps end.
	settled = 1e-13
	// exactly is how far, in units of what rounding can do in one step, residuals
	// may lie from an exact fit without being outliers.
	exactly = 100
)

// FitRobust fits by iteratively reweighted least squares until nothing changes.
// Errors are those of Fit.
func FitRobust(m Model, y, weights []float64, how Robust) (RobustResult, error) {
	if err := how.check(); err != nil {
		return RobustResult{}, fmt.Errorf("robust fit: %w", err)
	}
	p, err := newProblem(m, y, weights)
	if err != nil {
		return RobustResult{}, fmt.Errorf("robust fit: %w", err)
	}
	f := reweighting{
		problem: p,
		how:     how,
		given:   slices.Clone(p.rootWeight),
		resid:   make([]float64, len(y)),
		before:  make([]float64, len(y)),
		sorted:  make([]float64, 0, len(y)),
	}
	if err := f.run(); err != nil {
		return RobustResult{}, fmt.Errorf("robust fit: %w", err)
	}
	return f.result()
}

func (how Robust) check() error {
	for _, v := range []float64{how.Tuning, how.Scale, how.MinScale} {
		if !finite(v) || v < 0 {
			return errors.New("tuning, scale and least scale must be finite and not negative")
		}
	}
	if how.Loss != Huber && how.Loss != Bisquare {
		return fmt.Errorf("unknown loss %d", how.Loss)
	}
	return nil
}

func (how Robust) tuning() float64 {
	switch {
	case how.Tuning > 0:
		return how.Tuning
	case how.Loss == Bisquare:
		return bisquareTuning
	}
	return huberTuning
}

// weight is ψ(t)/t, slope ψ′(t), for a residual of t scales.
func (how Robust) weight(t float64) (weight, slope float64) {
	t = math.Abs(t) / how.tuning()
	if how.Loss == Huber {
		if t <= 1 {
			return 1, 1
		}
		return 1 / t, 0
	}
	if t >= 1 {
		return 0, 0
	}
	rest := 1 - t*t
	return rest * rest, rest * (1 - 5*t*t)
}

// reweighting is the state between steps.
type reweighting struct {
	*problem
	how       Robust
	given     []float64 // roots of the weights given
	resid     []float64 // y − fit, not weighted
	before    []float64 // roots of the weights of the last fit
	sorted    []float64
	u, scale  float64
	converged bool
}

func (f *reweighting) run() error {
	if !f.start() {
		return ErrSingular
	}
	for step := range 2 * robustSteps {
		// Held from half-way on, a scale that jumps cannot keep the fit moving.
		if step < robustSteps {
			f.scale = f.residualScale()
		}
		if f.scale == 0 { // every y and offset is 0: all fit exactly
			f.converged = true
			return nil
		}
		if !f.refit() {
			return nil
		}
		if change := f.takeResiduals(); change <= settled*f.scale+f.rounding() {
			f.converged = step < robustSteps
			return nil
		}
	}
	return nil
}

// refit weighs anew and fits. It is false, and the last fit stands, where too
// few observations keep a weight.
func (f *reweighting) refit() bool {
	copy(f.before, f.rootWeight)
	f.reweigh()
	u := f.searchNear(f.u)
	if !math.IsInf(f.evaluate(u), 1) {
		f.u = u
		return true
	}
	copy(f.rootWeight, f.before)
	f.evaluate(f.u)
	return false
}

// start takes the residuals of the first fit.
func (f *reweighting) start() bool {
	if f.how.Resistant && f.startTrimmed() {
		return true
	}
	copy(f.rootWeight, f.given)
	f.u = f.search()
	if math.IsInf(f.evaluate(f.u), 1) {
		return false
	}
	f.takeResiduals()
	return true
}

// takeResiduals stores the residuals of the fit at hand and returns the largest
// change.
func (f *reweighting) takeResiduals() (change float64) {
	for i, w := range f.given {
		resid := f.y[i] - f.fitted(i)
		change = max(change, w*math.Abs(resid-f.resid[i]))
		f.resid[i] = resid
	}
	return change
}

// rounding is what the residuals can change by without anything having changed.
func (f *reweighting) rounding() float64 {
	largest := 0.0
	for i, w := range f.given {
		if w > 0 {
			largest = max(largest, w*(math.Abs(f.y[i])+math.Abs(f.offset[i])))
		}
	}
	return 1e-14 * largest
}

func (f *reweighting) residualScale() float64 {
	if f.how.Scale > 0 {
		return f.how.Scale
	}
	f.sorted = f.sorted[:0]
	for i, w := range f.given {
		if w > 0 {
			f.sorted = append(f.sorted, w*math.Abs(f.resid[i]))
		}
	}
	return max(median(f.sorted)*madToSD, f.how.MinScale, exactly*f.rounding())
}

// median sorts x.
func median(x []float64) float64 {
	slices.Sort(x)
	k := len(x) / 2
	if len(x)%2 == 1 {
		return x[k]
	}
	return x[k-1] + (x[k]-x[k-1])/2
}

func (f *reweighting) reweigh() {
	for i, w := range f.given {
		weight, _ := f.how.weight(w * f.resid[i] / f.scale)
		f.rootWeight[i] = w * math.Sqrt(weight)
	}
}

func (f *reweighting) result() (RobustResult, error) {
	r := RobustResult{Scale: f.scale, Converged: f.converged, Weights: make([]float64, len(f.y))}
	sse := 0.0
	for i, w := range f.rootWeight {
		r.Weights[i] = w * w
		sse += w * w * f.resid[i] * f.resid[i]
	}
	// The covariance is that of the unweighted design, times the spread of ψ.
	linear := slices.Clone(f.linear)
	copy(f.rootWeight, f.given)
	f.countUsed()
	var err error
	if r.Result, err = f.problem.result(f.u); err != nil {
		return RobustResult{}, err
	}
	r.Linear, r.Residuals = linear, f.resid
	r.SSE = sse
	r.SD = f.spread(r.DF)
	return r, nil
}

// spread is K·√(Σ(ψ·scale)²/df) ÷ mean ψ′, with K the correction for few
// observations 1 + p·var ψ′/(n·(mean ψ′)²). It is +Inf where so many residuals lie
// on the falling part of ψ that mean ψ′ is not positive.
func (f *reweighting) spread(df int) float64 {
	if df == 0 {
		return math.NaN()
	}
	n := float64(f.used)
	force, slopes, squares := 0.0, 0.0, 0.0
	for i, w := range f.given {
		if w == 0 {
			continue
		}
		weight, slope := 1.0, 1.0
		if f.scale > 0 {
			weight, slope = f.how.weight(w * f.resid[i] / f.scale)
		}
		psi := weight * w * f.resid[i]
		force += psi * psi
		slopes += slope
		squares += slope * slope
	}
	mean := slopes / n
	if mean <= 0 {
		return math.Inf(1)
	}
	variance := 0.0
	if n > 1 {
		variance = (squares - n*mean*mean) / (n - 1)
	}
	k := 1 + float64(f.model.parameters())*variance/(n*mean*mean)
	return k / mean * math.Sqrt(force/float64(df))
}
