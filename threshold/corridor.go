package threshold

import "math"

// sides are the least and the most threshold that keep both margins of a
// window, or of several, as wanted; in steps of the input. high is +Inf
// where nothing is asked.
type sides struct{ low, high float64 }

var open = sides{0, math.Inf(1)}

func (w Window) sides(stepV float64) sides {
	signal, noise := w.wanted()
	s := sides{0, w.WeakestV / signal / stepV}
	if w.NoiseV.Known {
		s.low = noise * w.NoiseV.Value / stepV
	}
	return s
}

// inside are the sides that keep both margins above 1; none where noise reaches
// the weakest tooth.
func (w Window) inside(stepV float64) sides {
	if w.closed() {
		return open
	}
	return sides{w.NoiseV.Or(0) * (1 + hair) / stepV, w.WeakestV / (1 + hair) / stepV}
}

func (s sides) and(o sides) sides { return sides{math.Max(s.low, o.low), math.Min(s.high, o.high)} }

// at gives the sides that keep a score: that many times the margins. 0 asks for
// nothing.
func (s sides) at(score float64) sides {
	if score == 0 {
		return open
	}
	return sides{s.low * score, s.high / score}
}

// score is the best that a threshold between the sides can have.
func (s sides) score() float64 {
	if s.low <= 0 {
		return math.Inf(1)
	}
	return math.Sqrt(s.high / s.low)
}

// line is one side of one window between two rows, y = at + slope·x: x and y
// are the thresholds of the lower and the upper row, in steps. At another score
// than 1 only `at` is scaled. Slopes are below 0: what one row gives up the
// other must make good.
type line struct{ at, slope float64 }

func (l line) y(score, x float64) float64 { return l.at*score + l.slope*x }

// x is where the line passes y.
func (l line) x(score, y float64) float64 { return (y - l.at*score) / l.slope }

// link is what the windows between two rows ask of the straight line from one
// threshold to the other: a convex region of pairs (x, y), above every low line
// and under every high one. Lines that are nowhere the outermost are left out.
type link struct{ low, high []line }

// between gives the link of windows, by rising speed, strictly between two
// rows; want says what each wants.
func between(windows []Window, lowerRPM, upperRPM float64, want func(Window) sides) link {
	var l link
	for _, w := range windows {
		share := (w.RPM - lowerRPM) / (upperRPM - lowerRPM)
		l.add(share, want(w))
	}
	return l
}

// add takes what is wanted at a share of the way between the rows, larger than
// those before.
func (l *link) add(share float64, s sides) {
	slope := -(1 - share) / share
	if s.low > 0 {
		l.low = outermost(l.low, line{s.low / share, slope}, 1)
	}
	if !math.IsInf(s.high, 1) {
		l.high = outermost(l.high, line{s.high / share, slope}, -1)
	}
}

// outermost adds a line of larger slope to the envelope of those before it: the
// upper one for side +1, the lower one for −1 of lines that bound from above.
// Slopes rise, so the upper envelope has the new line at its right end and the
// lower one at its left.
//
// Of two lines that are parallel to rounding, as of windows on both sides of a
// jump, the outer one is kept: where they meet is not to be told.
func outermost(envelope []line, l line, side float64) []line {
	if n := len(envelope); n > 0 && l.slope-envelope[n-1].slope <= -hair*l.slope {
		if side*(l.at-envelope[n-1].at) <= 0 {
			return envelope
		}
		envelope = envelope[:n-1]
	}
	for len(envelope) >= 2 {
		a, b := envelope[len(envelope)-2], envelope[len(envelope)-1]
		// b is hidden where the new line meets a before it meets b.
		if side*((l.at-a.at)*(b.slope-a.slope)-(b.at-a.at)*(l.slope-a.slope)) < 0 {
			break
		}
		envelope = envelope[:len(envelope)-1]
	}
	return append(envelope, l)
}

// asked is a link at the score wanted of it.
type asked struct {
	link
	score float64
}

// passage is the way from one row's threshold x to the next one's, y: links at
// the scores wanted of them, and what else is open to y.
type passage struct {
	links [3]asked // those not needed are empty
	next  sides
}

// lowest and highest are the least and the most y for an x, with their slopes.
func (p *passage) lowest(x float64) (y, slope float64) {
	y = p.next.low
	for i := range p.links {
		a := &p.links[i]
		if l := extreme(a.low, func(l line) float64 { return l.y(a.score, x) }); l != nil && l.y(a.score, x) > y {
			y, slope = l.y(a.score, x), l.slope
		}
	}
	return y, slope
}

func (p *passage) highest(x float64) (y, slope float64) {
	y = p.next.high
	for i := range p.links {
		a := &p.links[i]
		if l := extreme(a.high, func(l line) float64 { return -l.y(1/a.score, x) }); l != nil && l.y(1/a.score, x) < y {
			y, slope = l.y(1/a.score, x), l.slope
		}
	}
	return y, slope
}

// back gives the least and the most x for a y.
func (p *passage) back(y float64) sides {
	s := open
	for i := range p.links {
		a := &p.links[i]
		if l := extreme(a.low, func(l line) float64 { return l.x(a.score, y) }); l != nil {
			s.low = math.Max(s.low, l.x(a.score, y))
		}
		if l := extreme(a.high, func(l line) float64 { return -l.x(1/a.score, y) }); l != nil {
			s.high = math.Min(s.high, l.x(1/a.score, y))
		}
	}
	return s
}

// extreme is the line of an envelope with the largest value; nil where there is
// none. Along an envelope values rise up to it and fall from it on.
func extreme(envelope []line, value func(line) float64) *line {
	if len(envelope) == 0 {
		return nil
	}
	lo, hi := 0, len(envelope)-1
	for lo < hi {
		if mid := (lo + hi) / 2; value(envelope[mid+1]) > value(envelope[mid]) {
			lo = mid + 1
		} else {
			hi = mid
		}
	}
	return &envelope[lo]
}

const (
	// sideSlack is how far, in steps, two sides may pass each other by rounding.
	sideSlack = 1e-9
	// mostTurns ends a search that rounding keeps from ending by itself.
	mostTurns = 200
)

// narrow gives the part of from…to where some y is open. The room between
// highest and lowest is concave in x, so Newton's method, started at an end
// outside, walks along its straight pieces to where it reaches 0.
func (p *passage) narrow(from, to float64) (a, b float64, ok bool) {
	a, ok = p.enter(from, 1)
	if !ok || a > to {
		return 0, 0, false
	}
	b, ok = p.enter(to, -1)
	return a, b, ok && a <= b
}

// enter moves x in one direction, +1 or −1, until some y is open.
func (p *passage) enter(x, direction float64) (float64, bool) {
	for range mostTurns {
		high, highSlope := p.highest(x)
		low, lowSlope := p.lowest(x)
		room, gain := high-low, direction*(highSlope-lowSlope)
		if room >= -sideSlack {
			return x, true
		}
		if gain <= 0 {
			return 0, false
		}
		x -= direction * room / gain
	}
	return x, true
}
