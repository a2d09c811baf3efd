package leastsq

import (
	"fmt"
	"math"
)

// problem is a model with its observations and the workspace in which the
// linear part is solved. One is made per fit; evaluating it allocates nothing.
type problem struct {
	model      Model
	axis       axis
	y          []float64
	rootWeight []float64
	used       int // observations with a weight

	// At the u evaluated last:
	offset  []float64
	columns [][]float64
	q       [][]float64 // weighted columns, made orthonormal
	r       [][]float64 // r[k][j], upper triangle: weighted columns = q·r
	resid   []float64   // weighted residuals
	linear  []float64
	slope   []float64 // weighted change of the fit with u, linear part held
}

func newProblem(m Model, y, weights []float64) (*problem, error) {
	if err := m.check(); err != nil {
		return nil, err
	}
	if weights != nil && len(weights) != len(y) {
		return nil, fmt.Errorf("%d weights for %d observations", len(weights), len(y))
	}
	p := allocate(m, len(y))
	p.y = y
	for i, v := range y {
		if !finite(v) {
			return nil, fmt.Errorf("observation %d is %v; want a finite number", i, v)
		}
		w := 1.0
		if weights != nil {
			w = weights[i]
		}
		if !finite(w) || w < 0 {
			return nil, fmt.Errorf("weight %d is %v; want finite, not negative", i, w)
		}
		p.rootWeight[i] = math.Sqrt(w)
	}
	p.countUsed()
	if p.used < max(m.parameters(), 1) {
		return nil, fmt.Errorf("%w: %d with a weight, %d parameters", ErrTooFew, p.used, m.parameters())
	}
	return p, nil
}

// allocate cuts every vector from one slab: a fit of a dozen observations is
// over in microseconds, of which separate allocations would take a good part.
func allocate(m Model, n int) *problem {
	k := m.Columns
	slab := make([]float64, (4+2*k)*n+(k+1)*(k+1)+k)
	cut := func(n int) []float64 {
		part := slab[:n:n]
		slab = slab[n:]
		return part
	}
	rows := make([][]float64, 3*k+1)
	p := &problem{
		model:      m,
		axis:       m.axis(),
		rootWeight: cut(n), offset: cut(n), resid: cut(n), slope: cut(n), linear: cut(k),
		columns: rows[:k:k], q: rows[k : 2*k : 2*k], r: rows[2*k:],
	}
	for j := range k {
		p.columns[j], p.q[j] = cut(n), cut(n)
	}
	for j := range p.r {
		p.r[j] = cut(k + 1)
	}
	return p
}

func (p *problem) countUsed() {
	p.used = 0
	for _, w := range p.rootWeight {
		if w > 0 {
			p.used++
		}
	}
}

func (p *problem) design(u float64) {
	clear(p.offset)
	for _, c := range p.columns {
		clear(c)
	}
	p.model.At(p.axis.theta(u), p.offset, p.columns)
}

// evaluate solves the linear part at u and returns the weighted sum of squares,
// +Inf where the design is not finite or its columns are dependent.
func (p *problem) evaluate(u float64) float64 {
	p.design(u)
	for i, w := range p.rootWeight {
		p.resid[i] = 0
		if w > 0 {
			p.resid[i] = w * (p.y[i] - p.offset[i])
		}
	}
	for j, column := range p.columns {
		q := p.q[j]
		for i, w := range p.rootWeight {
			q[i] = 0
			if w > 0 {
				q[i] = w * column[i]
			}
		}
	}
	if !p.solve() {
		return math.Inf(1)
	}
	sse := dot(p.resid, p.resid)
	if !finite(sse) {
		return math.Inf(1)
	}
	return sse
}

// dependent is the part of a column's length that must be left after taking
// out the columns before it.
const dependent = 1e-13

// solve orthonormalises the columns by modified Gram-Schmidt, takes each out of
// the residuals as it goes and finds the linear parameters by back substitution.
func (p *problem) solve() bool {
	for j, a := range p.q {
		length := norm(a)
		rest := length
		for k, q := range p.q[:j] {
			p.r[k][j] = dot(q, a)
			subtract(a, p.r[k][j], q)
			rest = norm(a)
		}
		if !(rest > dependent*length) || math.IsInf(rest, 1) {
			return false
		}
		p.r[j][j] = rest
		unit := 1 / rest
		for i := range a {
			a[i] *= unit
		}
		p.linear[j] = dot(a, p.resid)
		subtract(p.resid, p.linear[j], a)
	}
	for j := len(p.linear) - 1; j >= 0; j-- {
		for k := j + 1; k < len(p.linear); k++ {
			p.linear[j] -= p.r[j][k] * p.linear[k]
		}
		p.linear[j] /= p.r[j][j]
	}
	return true
}

// differentiate fills slope at the u evaluated last. It leaves offset and
// columns as they are at another u.
func (p *problem) differentiate(u float64) {
	s := p.axis.stencil(u)
	clear(p.slope)
	for k, node := range s.node {
		p.design(node)
		for i, w := range p.rootWeight {
			if w > 0 {
				p.slope[i] += s.weight[k] * w * p.fitted(i)
			}
		}
	}
}

// fitted is the fit at observation i from the offset and columns at hand.
func (p *problem) fitted(i int) float64 {
	v := p.offset[i]
	for j, c := range p.linear {
		v += c * p.columns[j][i]
	}
	return v
}

// project takes the columns out of slope. What is left tells how the fit changes
// with u when the linear part follows; the last column of r keeps the rest.
func (p *problem) project() (length float64) {
	last := len(p.q)
	for k, q := range p.q {
		p.r[k][last] = dot(q, p.slope)
		subtract(p.slope, p.r[k][last], q)
	}
	p.r[last][last] = norm(p.slope)
	return p.r[last][last]
}

func dot(a, b []float64) float64 {
	b = b[:len(a)]
	sum := 0.0
	for i, v := range a {
		sum += v * b[i]
	}
	return sum
}

func norm(a []float64) float64 { return math.Sqrt(dot(a, a)) }

// subtract takes factor·b from a.
func subtract(a []float64, factor float64, b []float64) {
	b = b[:len(a)]
	for i := range a {
		a[i] -= factor * b[i]
	}
}
