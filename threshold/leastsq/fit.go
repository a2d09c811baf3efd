package leastsq

import (
	"fmt"
	"math"
)

// Result is a fit and what it is worth.
type Result struct {
	// Linear holds c_j in the order of the columns.
	Linear []float64
	// Theta is the nonlinear parameter; Lo where it was not searched.
	Theta float64
	// AtEdge: θ stands at an end of its range, or where the model hardly answers
	// to it. Its variance is then unknown: its row and column of Unscaled are 0,
	// which treats θ as given; Possible tells how far it can be trusted.
	AtEdge bool
	// SSE is the weighted sum of squared residuals.
	SSE float64
	// DF is the number of observations with a weight less that of parameters.
	DF int
	// SD is the residual standard deviation of an observation of weight 1,
	// √(SSE/DF); NaN when DF is 0.
	SD float64
	// Unscaled is the inverse of the weighted Jacobian's normal matrix, the
	// linear parameters first, then θ where it was searched. Times SD² it is the
	// covariance of the estimates, to first order in θ.
	Unscaled [][]float64
	// Residuals are y − fit, one per observation, not weighted.
	Residuals []float64
}

// Fit finds the least weighted sum of squares over θ in its range and all linear
// parameters. weights are per observation, inverse variances up to a factor; nil
// means 1 each, and an observation of weight 0 has no part in the fit. Errors:
// ErrTooFew, ErrSingular, and input that is not finite or does not match.
func Fit(m Model, y, weights []float64) (Result, error) {
	p, err := newProblem(m, y, weights)
	if err != nil {
		return Result{}, fmt.Errorf("least squares: %w", err)
	}
	return p.result(p.search())
}

// result describes the fit at u.
func (p *problem) result(u float64) (Result, error) {
	sse := p.evaluate(u)
	if math.IsInf(sse, 1) {
		return Result{}, fmt.Errorf("least squares: %w", ErrSingular)
	}
	r := Result{
		Linear:    append([]float64(nil), p.linear...),
		Theta:     p.axis.theta(u),
		SSE:       sse,
		DF:        p.used - p.model.parameters(),
		Residuals: p.residuals(),
	}
	r.SD = math.NaN()
	if r.DF > 0 {
		r.SD = math.Sqrt(sse / float64(r.DF))
	}
	r.AtEdge = p.model.searched() && !p.thetaDetermined(u)
	r.Unscaled = p.unscaled(r.Theta, r.AtEdge)
	return r, nil
}

func (p *problem) residuals() []float64 {
	resid := make([]float64, len(p.y))
	for i, v := range p.y {
		resid[i] = v - p.fitted(i)
	}
	return resid
}

// hardlyAnswers is the part of the fit's length below which its change with u
// drowns in the rounding of a difference quotient.
const hardlyAnswers = 1e-11

// thetaDetermined tells whether u is inside its range and moves the fit; it
// leaves θ's column in r.
func (p *problem) thetaDetermined(u float64) bool {
	length := 0.0
	for i, w := range p.rootWeight {
		length = math.Hypot(length, w*p.fitted(i))
	}
	p.differentiate(u)
	change := p.project()
	edge := 1e-9 * (p.axis.hi - p.axis.lo)
	return u > p.axis.lo+edge && u < p.axis.hi-edge && change > hardlyAnswers*length && finite(change)
}

// unscaled is (JᵀJ)⁻¹ = R⁻¹R⁻ᵀ, in θ instead of u.
func (p *problem) unscaled(theta float64, held bool) [][]float64 {
	size := p.model.parameters()
	cov := make([][]float64, size)
	for i := range cov {
		cov[i] = make([]float64, size)
	}
	free := size
	if held {
		free--
	}
	inverse := invertUpper(p.r, free)
	for i := range free {
		for j := range free {
			for k := max(i, j); k < free; k++ {
				cov[i][j] += inverse[i][k] * inverse[j][k]
			}
		}
	}
	if free > p.model.Columns {
		scale := p.axis.thetaPerU(theta)
		last := free - 1
		for i := range free {
			cov[i][last] *= scale
			cov[last][i] *= scale
		}
	}
	return cov
}

// invertUpper inverts the leading size×size part of an upper triangle.
func invertUpper(r [][]float64, size int) [][]float64 {
	inverse := make([][]float64, size)
	for i := size - 1; i >= 0; i-- {
		inverse[i] = make([]float64, size)
		inverse[i][i] = 1 / r[i][i]
		for j := i + 1; j < size; j++ {
			sum := 0.0
			for k := i + 1; k <= j; k++ {
				sum += r[i][k] * inverse[k][j]
			}
			inverse[i][j] = -sum / r[i][i]
		}
	}
	return inverse
}

// Covariance of the estimates, in the order of Unscaled.
func (r Result) Covariance() [][]float64 {
	cov := make([][]float64, len(r.Unscaled))
	for i, row := range r.Unscaled {
		cov[i] = make([]float64, len(row))
		for j, v := range row {
			cov[i][j] = r.SD * r.SD * v
		}
	}
	return cov
}

// StandardErrors of the estimates, in the order of Unscaled.
func (r Result) StandardErrors() []float64 {
	errs := make([]float64, len(r.Unscaled))
	for i, row := range r.Unscaled {
		errs[i] = r.SD * math.Sqrt(row[i])
	}
	return errs
}

// Prediction of the fit at a new point.
type Prediction struct {
	// Value is in the unit of y.
	Value float64
	// Leverage is x′Cx with C = Unscaled: SD·√Leverage is the standard
	// deviation of Value, SD·√(1+Leverage) that of a new observation of
	// weight 1 about it.
	Leverage float64
}

// Predict evaluates the fit at count new points. m is the model that was fitted,
// its At written for the new points. Where At is not finite, so is the
// prediction.
func (r Result) Predict(m Model, count int) []Prediction {
	offset := make([]float64, count)
	columns := make([][]float64, m.Columns)
	for j := range columns {
		columns[j] = make([]float64, count)
	}
	evaluate := func(theta float64) {
		clear(offset)
		for _, c := range columns {
			clear(c)
		}
		m.At(theta, offset, columns)
	}
	value := func(i int) float64 {
		v := offset[i]
		for j, c := range r.Linear {
			v += c * columns[j][i]
		}
		return v
	}

	size := len(r.Unscaled)
	gradient := make([][]float64, count)
	for i := range gradient {
		gradient[i] = make([]float64, size)
	}
	if m.searched() && !r.AtEdge {
		axis := m.axis()
		s := axis.stencil(axis.coordinate(r.Theta))
		for k, node := range s.node {
			evaluate(axis.theta(node))
			for i := range count {
				gradient[i][size-1] += s.weight[k] * value(i) / axis.thetaPerU(r.Theta)
			}
		}
	}
	evaluate(r.Theta)
	predictions := make([]Prediction, count)
	for i := range predictions {
		for j := range columns {
			gradient[i][j] = columns[j][i]
		}
		predictions[i] = Prediction{Value: value(i), Leverage: r.leverage(gradient[i])}
	}
	return predictions
}

func (r Result) leverage(gradient []float64) float64 {
	sum := 0.0
	for i, row := range r.Unscaled {
		sum += gradient[i] * dot(row, gradient)
	}
	return sum
}
