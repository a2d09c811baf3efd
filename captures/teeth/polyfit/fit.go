// Package polyfit fits polynomials to evenly spaced values by least squares, all
// orders at once.
package polyfit

import "math"

// A Fit is a least-squares polynomial through evenly spaced points. It is
// worked out in polynomials that are orthonormal over the points (Gram's), so
// that the fits of all orders come at once and what each leaves follows from
// the squares of the coefficients.
type Fit struct {
	basis *gram
	a     [MaxOrder + 1]float64 // coefficients in the basis
	total float64               // sum of squares of the values
}

// The highest order there is, and the most values that one is fitted to.
const (
	MaxOrder   = 5
	MostPoints = 16
)

// gram is the basis over n points, at x = (2i+1)/n − 1.
type gram struct {
	n, order int
	half     [MostPoints / 2][MaxOrder + 1]float64 // at the points left of the middle, from the middle outwards
	middle   [MaxOrder + 1]float64                 // at the point in the middle, where n is odd
	power    [MaxOrder + 1][MaxOrder + 1]float64   // coefficients of x to the power of j
}

// grams holds the bases by the number of points.
var grams = newGrams()

func newGrams() (all [MostPoints + 1]gram) {
	for n := 2; n <= MostPoints; n++ {
		g := &all[n]
		g.n, g.order = n, min(MaxOrder, n-1)
		for k := 0; k <= g.order; k++ {
			g.orthogonalise(k)
			for i := range n / 2 {
				g.half[i][k] = g.value(k, g.place(n/2-1-i))
			}
			if n%2 == 1 {
				g.middle[k] = g.value(k, 0)
			}
		}
	}
	return all
}

func (g *gram) place(i int) float64 { return (2*float64(i)+1)/float64(g.n) - 1 }

// value is basis polynomial k at x.
func (g *gram) value(k int, x float64) float64 {
	sum := 0.0
	for j := k; j >= 0; j-- {
		sum = sum*x + g.power[k][j]
	}
	return sum
}

// orthogonalise makes polynomial k of x to the power of k by taking away what
// the lower ones hold of it, twice for precision.
func (g *gram) orthogonalise(k int) {
	g.power[k][k] = 1
	for range 2 {
		for lower := range k {
			dot := g.dot(k, lower)
			for j := 0; j <= lower; j++ {
				g.power[k][j] -= dot * g.power[lower][j]
			}
		}
	}
	norm := math.Sqrt(g.dot(k, k))
	for j := 0; j <= k; j++ {
		g.power[k][j] /= norm
	}
}

func (g *gram) dot(k, l int) float64 {
	sum := 0.0
	for i := range g.n {
		x := g.place(i)
		sum += g.value(k, x) * g.value(l, x)
	}
	return sum
}

// Even fits values at evenly spaced places over −1 to 1 with polynomials of
// up to an order. There are 2 to MostPoints of them.
func (f *Fit) Even(y []float64, order int) {
	g := &grams[len(y)]
	order = min(order, g.order)
	var total, a0, a1, a2, a3, a4, a5 float64
	h := len(y) / 2
	right := y[len(y)-h:]
	for i, r := range right {
		l, row := y[h-1-i], &g.half[i&(MostPoints/2-1)]
		sum, difference := l+r, l-r
		total += l*l + r*r
		a0, a1 = a0+row[0]*sum, a1+row[1]*difference
		a2, a3 = a2+row[2]*sum, a3+row[3]*difference
		a4, a5 = a4+row[4]*sum, a5+row[5]*difference
	}
	if len(y)%2 == 1 {
		m := y[h]
		total += m * m
		a0, a2, a4 = a0+g.middle[0]*m, a2+g.middle[2]*m, a4+g.middle[4]*m
	}
	f.basis, f.total = g, total
	f.a = [MaxOrder + 1]float64{a0, a1, a2, a3, a4, a5}
	clear(f.a[order+1:])
}

// Count is the number of points, and Highest the highest order that they tell.
func (f *Fit) Count() int   { return f.basis.n }
func (f *Fit) Highest() int { return f.basis.order }

// Coefficients are those of the fits of all orders in polynomials that are orthonormal
// over the points.
func (f *Fit) Coefficients() *[MaxOrder + 1]float64 { return &f.a }

// Misfit is the root of the mean square of what the polynomial of an order
// leaves of the points.
func (f *Fit) Misfit(order int) float64 {
	left := f.total
	for k := 0; k <= order; k++ {
		left -= f.a[k] * f.a[k]
	}
	return math.Sqrt(max(0, left) / float64(max(1, f.basis.n-1-order)))
}

// Polynomial writes the fit of an order in powers of x.
func (f *Fit) Polynomial(order int) (p Polynomial) {
	for k := 0; k <= order; k++ {
		row := &f.basis.power[k]
		for j := k % 2; j <= k; j += 2 {
			p[j] += f.a[k] * row[j]
		}
	}
	return p
}

// Parabola is the slope of the fit of order 2 at 0, and its bend.
func (f *Fit) Parabola() (slope, bend float64) {
	power := &f.basis.power
	return f.a[1] * power[1][1], 2 * f.a[2] * power[2][2]
}

// Polynomial has the coefficients of the powers of x.
type Polynomial [MaxOrder + 1]float64

// The terms are paired, so that they do not wait for each other.
func (p *Polynomial) At(x float64) float64 {
	q := x * x
	return p[0] + x*p[1] + q*(p[2]+x*p[3]+q*(p[4]+x*p[5]))
}

func (p *Polynomial) Slope(x float64) float64 {
	q := x * x
	return p[1] + 2*x*p[2] + q*(3*p[3]+4*x*p[4]+5*q*p[5])
}

func (p *Polynomial) Bend(x float64) float64 {
	return 2*p[2] + x*(6*p[3]+x*(12*p[4]+x*20*p[5]))
}

// Top is how far from x the polynomial has its top, by a step of Newton's, not far.
func (p *Polynomial) Top(x float64) float64 {
	const far = 0.25
	bend := p.Bend(x)
	if !(bend < 0) {
		return 0
	}
	return max(-far, min(far, -p.Slope(x)/bend))
}

// Fall is where the polynomial falls through zero nearest to 0, by Newton's
// steps; ok only within ±1.
func (p *Polynomial) Fall() (x float64, ok bool) {
	for range 12 {
		slope := p.Slope(x)
		if slope >= 0 {
			return 0, false
		}
		step := p.At(x) / slope
		x -= step
		if math.Abs(x) > 1 {
			return 0, false
		}
		if math.Abs(step) < 1e-4 {
			// Newton's steps square what is left: this one left 1e-8.
			break
		}
	}
	return x, true
}
