package leastsq

import (
	"errors"
	"fmt"
	"math"
)

// Errors that callers may want to tell apart; they arrive wrapped.
var (
	// ErrTooFew: fewer observations with a weight than parameters.
	ErrTooFew = errors.New("too few observations")
	// ErrSingular: at no θ of the range are the columns finite and independent.
	ErrSingular = errors.New("columns are not finite and independent")
)

// A Design writes, for every observation, the offset and the columns at theta:
// columns[j][i] is column j at observation i. All arrive zeroed. It must depend
// on theta alone, smoothly, and must not keep the slices. Values that are not
// finite rule that theta out.
type Design func(theta float64, offset []float64, columns [][]float64)

// Model is y_i ≈ offset_i(θ) + Σ_j c_j·column_ij(θ).
type Model struct {
	// Columns is the number of linear parameters; 0 is allowed where θ is searched.
	Columns int
	// At is never called with a theta outside Lo…Hi.
	At Design
	// Lo and Hi bound θ. Equal, θ is held there and is no parameter: a linear
	// model leaves both 0.
	Lo, Hi float64
	// Log searches in ln θ, for a parameter known only by its order of
	// magnitude; Lo must then be above 0.
	Log bool
}

// scanSteps is the number of steps in which the range of θ is scanned. A valley
// of the profile narrower than a step can be overlooked.
const scanSteps = 60

func (m Model) searched() bool { return m.Lo < m.Hi }

// parameters counts the linear ones and θ where it is searched.
func (m Model) parameters() int {
	if m.searched() {
		return m.Columns + 1
	}
	return m.Columns
}

func (m Model) check() error {
	switch {
	case m.At == nil:
		return errors.New("model has no design")
	case m.Columns < 0 || m.parameters() == 0:
		return errors.New("model has no parameters")
	case !finite(m.Lo) || !finite(m.Hi) || m.Lo > m.Hi:
		return fmt.Errorf("theta range is %v to %v; want finite, ascending", m.Lo, m.Hi)
	case m.Log && m.searched() && m.Lo <= 0:
		return fmt.Errorf("theta range starts at %v; want above 0 to search in ln θ", m.Lo)
	}
	return nil
}

// The search runs in u, which is θ or ln θ.

func (m Model) ends() (lo, hi float64) {
	if m.Log && m.searched() {
		return math.Log(m.Lo), math.Log(m.Hi)
	}
	return m.Lo, m.Hi
}

// theta inverts u; the ends come back exactly, whatever the logarithm rounds.
func (m Model) theta(u float64) float64 {
	lo, hi := m.ends()
	switch {
	case u <= lo:
		return m.Lo
	case u >= hi:
		return m.Hi
	case m.Log:
		return min(max(math.Exp(u), m.Lo), m.Hi)
	}
	return u
}

func (m Model) coordinate(theta float64) float64 {
	if m.Log && m.searched() {
		return math.Log(theta)
	}
	return theta
}

// thetaPerU is dθ/du.
func (m Model) thetaPerU(theta float64) float64 {
	if m.Log {
		return theta
	}
	return 1
}

// A stencil differentiates along u: Σ weight·f(node) is df/du.
type stencil struct {
	node, weight [4]float64
}

// stencil is the central difference of fourth order, its points a small part of
// a scan step apart. It stays inside the range: narrower near an end, one-sided
// at it.
func (m Model) stencil(u float64) stencil {
	lo, hi := m.ends()
	h := (hi - lo) / scanSteps / 64
	if room := min(u-lo, hi-u) / 2; room >= h/16 {
		h = min(h, room)
		return stencil{
			node:   [4]float64{u - 2*h, u - h, u + h, u + 2*h},
			weight: [4]float64{1 / (12 * h), -8 / (12 * h), 8 / (12 * h), -1 / (12 * h)},
		}
	}
	if u-lo > hi-u {
		h = -h
	}
	return stencil{
		node:   [4]float64{u, u + h, u + 2*h, u + 3*h},
		weight: [4]float64{-11 / (6 * h), 18 / (6 * h), -9 / (6 * h), 2 / (6 * h)},
	}
}

func finite(x float64) bool { return !math.IsNaN(x) && !math.IsInf(x, 0) }
