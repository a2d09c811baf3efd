package leastsq

import "math"

// scanSteps is the number of steps in which the range of θ is scanned. A valley
// of the profile narrower than a step can be overlooked.
const scanSteps = 48

// axis is the range of θ as the search sees it: in u, which is θ or ln θ.
type axis struct {
	lo, hi           float64 // ends in u
	thetaLo, thetaHi float64
	log              bool
}

func (m Model) axis() axis {
	a := axis{lo: m.Lo, hi: m.Hi, thetaLo: m.Lo, thetaHi: m.Hi, log: m.Log && m.searched()}
	if a.log {
		a.lo, a.hi = math.Log(m.Lo), math.Log(m.Hi)
	}
	return a
}

// theta gives the ends exactly, whatever the logarithm rounds.
func (a axis) theta(u float64) float64 {
	switch {
	case u <= a.lo:
		return a.thetaLo
	case u >= a.hi:
		return a.thetaHi
	case a.log:
		return min(max(math.Exp(u), a.thetaLo), a.thetaHi)
	}
	return u
}

func (a axis) coordinate(theta float64) float64 {
	if a.log {
		return math.Log(theta)
	}
	return theta
}

// thetaPerU is dθ/du.
func (a axis) thetaPerU(theta float64) float64 {
	if a.log {
		return theta
	}
	return 1
}

func (a axis) step() float64 { return (a.hi - a.lo) / scanSteps }

// scanned is the i-th point of the scan, 0 to scanSteps.
func (a axis) scanned(i int) float64 {
	if i == scanSteps {
		return a.hi
	}
	return a.lo + a.step()*float64(i)
}

// A stencil differentiates along u: Σ weight·f(node) is df/du.
type stencil struct {
	node, weight [4]float64
}

// stencil is the central difference of fourth order, its points a small part of
// a scan step apart. It stays inside the range: narrower near an end, one-sided
// at it.
func (a axis) stencil(u float64) stencil {
	h := a.step() / 64
	if room := min(u-a.lo, a.hi-u) / 2; room >= h/16 {
		h = min(h, room)
		return stencil{
			node:   [4]float64{u - 2*h, u - h, u + h, u + 2*h},
			weight: [4]float64{1 / (12 * h), -8 / (12 * h), 8 / (12 * h), -1 / (12 * h)},
		}
	}
	if u-a.lo > a.hi-u {
		h = -h
	}
	return stencil{
		node:   [4]float64{u, u + h, u + 2*h, u + 3*h},
		weight: [4]float64{-11 / (6 * h), 18 / (6 * h), -9 / (6 * h), 2 / (6 * h)},
	}
}
