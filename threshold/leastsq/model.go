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
	// ErrSingular: at no θ of the range is the sum of squares finite and are the
	// columns independent of each other.
	ErrSingular = errors.New("columns depend on each other or the fit is not finite")
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

func finite(x float64) bool { return !math.IsNaN(x) && !math.IsInf(x, 0) }
