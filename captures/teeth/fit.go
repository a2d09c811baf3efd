package teeth

import "math"

// polynomial is a least-squares polynomial of order up to 5.
type polynomial struct{ c [maxOrder + 1]float64 }

const maxOrder = 5

// fitPolynomial fits values y at places x, which should be of order 1. There
// must be more points than the order; ok is false where they do not decide.
func fitPolynomial(x, y []float64, order int) (p polynomial, ok bool) {
	var m [maxOrder + 1][maxOrder + 2]float64
	const right = maxOrder + 1
	for i, xi := range x {
		var powers [2*maxOrder + 1]float64
		powers[0] = 1
		for k := 1; k <= 2*order; k++ {
			powers[k] = powers[k-1] * xi
		}
		for r := 0; r <= order; r++ {
			for c := 0; c <= order; c++ {
				m[r][c] += powers[r+c]
			}
			m[r][right] += powers[r] * y[i]
		}
	}
	for r := 0; r <= order; r++ {
		if !(m[r][r] > 1e-12) {
			return p, false
		}
		for below := r + 1; below <= order; below++ {
			k := m[below][r] / m[r][r]
			for c := r; c <= right; c++ {
				m[below][c] -= k * m[r][c]
			}
		}
	}
	for r := order; r >= 0; r-- {
		sum := m[r][right]
		for c := r + 1; c <= order; c++ {
			sum -= m[r][c] * p.c[c]
		}
		p.c[r] = sum / m[r][r]
	}
	return p, !math.IsNaN(p.c[0])
}

func (p polynomial) at(x float64) float64 {
	sum := 0.0
	for k := maxOrder; k >= 0; k-- {
		sum = sum*x + p.c[k]
	}
	return sum
}

func (p polynomial) slope(x float64) float64 {
	sum := 0.0
	for k := maxOrder; k >= 1; k-- {
		sum = sum*x + float64(k)*p.c[k]
	}
	return sum
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

// misfit is the root of the mean square of what is left of the points, for a
// number of parameters fitted to them.
func (p polynomial) misfit(x, y []float64, parameters int) float64 {
	sum := 0.0
	for i := range x {
		d := y[i] - p.at(x[i])
		sum += d * d
	}
	return math.Sqrt(sum / float64(max(1, len(x)-parameters)))
}

// even holds, for each order, how the coefficients of the polynomial follow
// from the values in evenly spaced cells.
var even = evenFits()

func evenFits() (all [maxOrder + 1][maxOrder + 1][cells]float64) {
	var x, y [cells]float64
	for i := range x {
		x[i] = (2*float64(i)+1)/cells - 1
	}
	for order := 1; order <= maxOrder; order++ {
		for i := range y {
			y = [cells]float64{}
			y[i] = 1
			p, _ := fitPolynomial(x[:], y[:], order)
			for k := range p.c {
				all[order][k][i] = p.c[k]
			}
		}
	}
	return all
}

// fitEven fits values in evenly spaced cells over −1 to 1.
func fitEven(y []float64, order int) (p polynomial) {
	_ = y[cells-1]
	for k := 0; k <= order; k++ {
		row := &even[order][k]
		sum := 0.0
		for i := range row {
			sum += row[i] * y[i]
		}
		p.c[k] = sum
	}
	return p
}
