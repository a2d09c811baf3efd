package teeth

import "math"

// polynomial is a least-squares polynomial of order up to 3.
type polynomial struct{ c [4]float64 }

// fitPolynomial fits values y at places x, which should be of order 1. There
// must be more points than the order; ok is false where they do not decide.
func fitPolynomial(x, y []float64, order int) (p polynomial, ok bool) {
	var m [4][5]float64
	for i, xi := range x {
		var powers [7]float64
		powers[0] = 1
		for k := 1; k <= 2*order; k++ {
			powers[k] = powers[k-1] * xi
		}
		for r := 0; r <= order; r++ {
			for c := 0; c <= order; c++ {
				m[r][c] += powers[r+c]
			}
			m[r][4] += powers[r] * y[i]
		}
	}
	for r := 0; r <= order; r++ {
		if !(m[r][r] > 1e-12) {
			return p, false
		}
		for below := r + 1; below <= order; below++ {
			k := m[below][r] / m[r][r]
			for c := r; c <= 4; c++ {
				m[below][c] -= k * m[r][c]
			}
		}
	}
	for r := order; r >= 0; r-- {
		sum := m[r][4]
		for c := r + 1; c <= order; c++ {
			sum -= m[r][c] * p.c[c]
		}
		p.c[r] = sum / m[r][r]
	}
	return p, !math.IsNaN(p.c[0])
}

func (p polynomial) at(x float64) float64 {
	return p.c[0] + x*(p.c[1]+x*(p.c[2]+x*p.c[3]))
}

func (p polynomial) slope(x float64) float64 {
	return p.c[1] + x*(2*p.c[2]+3*x*p.c[3])
}

// fall is where the polynomial falls through zero nearest to 0, by Newton's
// steps; ok only within ±1.
func (p polynomial) fall() (x float64, ok bool) {
	for range 12 {
		slope := p.slope(x)
		if slope >= 0 {
			return 0, false
		}
		step := p.at(x) / slope
		x -= step
		if math.Abs(x) > 1 {
			return 0, false
		}
		if math.Abs(step) < 1e-9 {
			break
		}
	}
	return x, true
}
