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
// least one, as spans in ascending order. Their ends are where the profile passes
// that limit, or ends of the range; between them stand the scanned points and the
// best one, so that whatever depends on θ can be bounded by looking at each. With
// a rise of t²·s² this is the likelihood region of θ (Bates and Watts, "Nonlinear
// Regression Analysis and Its Applications", 1988, chapter 6, on profile t).
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
				spans = append(spans, open.and(p.point(p.crossing(nodes[i-1], n, most))))
				open = nil
			}
			continue
		}
		if open == nil && i > 0 {
			open = Span{p.point(p.crossing(n, nodes[i-1], most))}
		}
		open = open.and(p.point(n.u))
	}
	if open != nil {
		spans = append(spans, open)
	}
	return spans
}

// and adds the next point, unless it is the last one again: a span may begin or
// end at a node.
func (s Span) and(next Point) Span {
	if len(s) > 0 && next.Theta <= s[len(s)-1].Theta {
		return s
	}
	return append(s, next)
}

// crossing is where the profile rises past most between a node within and one
// beyond, found by false position with the Illinois rule: when the same end moves
// twice, the other counts half (Dowell and Jarratt, BIT 11 (1971) 168-174). The
// result is within.
func (p *problem) crossing(in, out node, most float64) float64 {
	below, above := most-in.sse, out.sse-most
	moved := 0 // +1 in moved last, -1 out did
	for range 100 {
		gap := out.u - in.u
		if below == 0 || math.Abs(gap) <= 1e-11*p.axis.step() {
			break
		}
		part := 0.5
		if finite(above) {
			part = below / (below + above)
		}
		u := in.u + gap*part
		if u == in.u || u == out.u {
			u = in.u + gap/2
		}
		sse := p.evaluate(u)
		if sse <= most {
			in.u, below = u, most-sse
			if moved > 0 {
				above /= 2
			}
			moved = 1
		} else {
			out.u, above = u, sse-most
			if moved < 0 {
				below /= 2
			}
			moved = -1
		}
	}
	return in.u
}

func (p *problem) point(u float64) Point {
	sse := p.evaluate(u)
	return Point{Theta: p.axis.theta(u), SSE: sse, Linear: slices.Clone(p.linear)}
}
