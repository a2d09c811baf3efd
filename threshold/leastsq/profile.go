package leastsq

import (
	"cmp"
	"fmt"
	"math"
	"slices"
)

// Point is the best fit for one θ.
type Point struct {
	Theta  float64
	SSE    float64 // weighted sum of squares with Linear
	Linear []float64
}

// Span is an unbroken piece of the range of θ, by its points in ascending order;
// the first and the last are its ends.
type Span []Point

// Profile fits the linear part at a given theta within the model's range.
func Profile(m Model, y, weights []float64, theta float64) (Point, error) {
	p, err := newProblem(m, y, weights)
	if err != nil {
		return Point{}, fmt.Errorf("profile: %w", err)
	}
	if !(theta >= m.Lo && theta <= m.Hi) {
		return Point{}, fmt.Errorf("profile: theta is %v; want %v to %v", theta, m.Lo, m.Hi)
	}
	point := p.point(p.axis.coordinate(theta))
	if math.IsInf(point.SSE, 1) {
		return Point{}, fmt.Errorf("profile at theta %v: %w", theta, ErrSingular)
	}
	return point, nil
}

// Possible returns every θ whose best sum of squares is at most rise above the
// least one, as spans in ascending order. The ends are exact to rounding, or
// ends of the range; between them stand the scanned points, so that whatever
// depends on θ can be bounded by looking at each point. With a rise of t²·s²
// this is the likelihood region of θ (Bates and Watts, "Nonlinear Regression
// Analysis and Its Applications", 1988, chapter 6, on profile t).
func Possible(m Model, y, weights []float64, rise float64) ([]Span, error) {
	p, err := newProblem(m, y, weights)
	if err != nil {
		return nil, fmt.Errorf("possible theta: %w", err)
	}
	if !finite(rise) || rise < 0 {
		return nil, fmt.Errorf("possible theta: rise is %v; want finite, not negative", rise)
	}
	nodes := p.profileNodes()
	most := leastSSE(nodes) + rise
	if math.IsInf(most, 1) {
		return nil, fmt.Errorf("possible theta: %w", ErrSingular)
	}
	return p.spans(nodes, most), nil
}

// node is a point of the profile before its linear part is asked for.
type node struct{ u, sse float64 }

// profileNodes are the scanned points and the bottoms of the lowest valleys.
func (p *problem) profileNodes() []node {
	if !p.model.searched() {
		return []node{{p.axis.lo, p.evaluate(p.axis.lo)}}
	}
	scan := p.scan()
	nodes := make([]node, 0, scanSteps+1+valleys)
	for i, sse := range scan {
		nodes = append(nodes, node{p.axis.scanned(i), sse})
	}
	for _, i := range lowestValleys(scan[:]) {
		u, sse := p.descend(scan[:], i)
		nodes = append(nodes, node{u, sse})
	}
	slices.SortFunc(nodes, func(a, b node) int {
		return cmp.Compare(a.u, b.u)
	})
	return slices.CompactFunc(nodes, func(a, b node) bool { return a.u == b.u })
}

func leastSSE(nodes []node) float64 {
	least := math.Inf(1)
	for _, n := range nodes {
		least = min(least, n.sse)
	}
	return least
}

func (p *problem) spans(nodes []node, most float64) []Span {
	var spans []Span
	var open Span
	for i, n := range nodes {
		if n.sse > most {
			if open != nil {
				spans = append(spans, append(open, p.point(p.crossing(nodes[i-1].u, n.u, most))))
				open = nil
			}
			continue
		}
		if open == nil && i > 0 {
			open = append(open, p.point(p.crossing(n.u, nodes[i-1].u, most)))
		}
		open = append(open, p.point(n.u))
	}
	if open != nil {
		spans = append(spans, open)
	}
	return spans
}

// crossing halves the way from inside to outside until the two are neighbours,
// and returns the one inside.
func (p *problem) crossing(inside, outside, most float64) float64 {
	for range 60 {
		middle := inside + (outside-inside)/2
		if middle == inside || middle == outside {
			break
		}
		if p.evaluate(middle) <= most {
			inside = middle
		} else {
			outside = middle
		}
	}
	return inside
}

func (p *problem) point(u float64) Point {
	sse := p.evaluate(u)
	return Point{Theta: p.axis.theta(u), SSE: sse, Linear: slices.Clone(p.linear)}
}
