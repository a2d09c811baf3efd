package leastsq

import (
	"cmp"
	"math"
	"slices"
)

// valleys is how many of the scan's lowest valleys are followed to the bottom.
const valleys = 4

// search returns the u with the least sum of squares.
func (p *problem) search() float64 {
	if !p.model.searched() {
		return p.axis.lo
	}
	scan := p.scan()
	best, least := p.axis.lo, math.Inf(1)
	for _, i := range lowestValleys(scan[:]) {
		u, sse := p.descend(scan[:], i)
		if sse < least {
			best, least = u, sse
		}
	}
	return best
}

// searchNear returns the least sum of squares in the valley around u, or
// searches the whole range when that valley has moved away.
func (p *problem) searchNear(u float64) float64 {
	if !p.model.searched() {
		return p.axis.lo
	}
	step := p.axis.step()
	left, right := u-step, u+step
	if left <= p.axis.lo || right >= p.axis.hi {
		return p.search()
	}
	if near, sse := p.refine(left, u, right); near > left+step/2 && near < right-step/2 && finite(sse) {
		return near
	}
	return p.search()
}

func (p *problem) scan() (sse [scanSteps + 1]float64) {
	for i := range sse {
		sse[i] = p.evaluate(p.axis.scanned(i))
	}
	return sse
}

// lowestValleys lists the points lower than the one before and no higher than
// the one after, lowest first.
func lowestValleys(sse []float64) []int {
	var found []int
	for i, v := range sse {
		fallsInto := i == 0 || v < sse[i-1]
		risesFrom := i == len(sse)-1 || v <= sse[i+1]
		if fallsInto && risesFrom && finite(v) {
			found = append(found, i)
		}
	}
	slices.SortStableFunc(found, func(a, b int) int {
		return cmp.Compare(sse[a], sse[b])
	})
	return found[:min(len(found), valleys)]
}

// descend finds the bottom of the valley around scanned point i.
func (p *problem) descend(scan []float64, i int) (u, sse float64) {
	left, right := p.axis.scanned(max(i-1, 0)), p.axis.scanned(min(i+1, scanSteps))
	u = p.axis.scanned(i)
	if i == 0 || i == scanSteps {
		p.evaluate(u)
		if step, _ := p.step(u); i == 0 && step <= 0 || i == scanSteps && step >= 0 {
			return u, scan[i] // the profile falls towards the end, or not at all
		}
	} else {
		u = vertex(scan[i-1:i+2], u, right-u)
	}
	u, sse = p.refine(left, u, right)
	// A valley floor of rounding errors can leave the refined point no better.
	if sse > scan[i]*(1+1e-12) {
		return p.axis.scanned(i), scan[i]
	}
	return u, sse
}

// vertex of the parabola through three points a step apart around u.
func vertex(sse []float64, u, step float64) float64 {
	fall, rise := sse[0]-sse[1], sse[2]-sse[1]
	if !(finite(fall) && finite(rise) && fall+rise > 0) {
		return u
	}
	return u + step*(fall-rise)/(2*(fall+rise))
}

// step is the Gauss-Newton step along the profile at the u evaluated last, and
// its curvature: half the profile's slope is -(residuals · slope of the fit),
// because the linear part stands at its optimum.
func (p *problem) step(u float64) (step, curvature float64) {
	p.differentiate(u)
	descent := dot(p.resid, p.slope)
	length := p.project()
	curvature = length * length
	if curvature == 0 || !finite(descent/curvature) {
		return 0, 0
	}
	return descent / curvature, curvature
}

// refine finds where the profile's slope is zero between left and right, by
// secants where two points give one, Gauss-Newton steps otherwise, halving the
// bracket when a step would leave it.
func (p *problem) refine(left, u, right float64) (at, sse float64) {
	// Secants converge so fast that behind a step this small the next one would
	// be lost in rounding.
	const lastStep = 1e-9
	start, width := u, right-left
	lastU, lastDescent := math.NaN(), math.NaN()
	for range 60 {
		sse = p.evaluate(u)
		if math.IsInf(sse, 1) { // ruled out by the design: back to where it began
			if u > start {
				right = u
			} else {
				left = u
			}
			u = start + (u-start)/2
			continue
		}
		step, curvature := p.step(u)
		descent := step * curvature
		if descent > 0 {
			left = u
		} else {
			right = u
		}
		bend := (lastDescent - descent) / (u - lastU)
		if bend > 0 && finite(descent/bend) {
			step = descent / bend
		}
		if step == 0 || right-left <= 1e-15*width {
			return u, sse
		}
		next := u + step
		if !(next > left && next < right) {
			next = left + (right-left)/2
		} else if bend > 0 && math.Abs(step) <= lastStep*width {
			return next, p.evaluate(next)
		}
		lastU, lastDescent, u = u, descent, next
	}
	return u, p.evaluate(u)
}
