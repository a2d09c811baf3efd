package report

import "math"

// trail is the speed of an engine over time, thinned so that the lowest and the
// highest of each stretch stay. It is filled from front to back and knows
// nothing of its length beforehand.
type trail struct {
	stretches []stretch
	perOne    int
	lastS     float64
	stepS     float64 // between the latest two teeth
}

// stretch is some teeth in a row.
type stretch struct {
	low, high Point
	teeth     int
	broken    bool // no tooth passed for long before it
}

const mostStretches = 400

// longPause is how many times the interval before an interval has to be for the
// engine to have stood.
const longPause = 12

func (t *trail) add(p Point) {
	if p.Y != p.Y || math.IsInf(p.Y, 0) {
		return
	}
	step := p.X - t.lastS
	broken := t.stepS > 0 && step > longPause*t.stepS
	t.lastS, t.stepS = p.X, step
	if n := len(t.stretches); n == 0 || t.stretches[n-1].teeth >= t.perOne || broken {
		t.next(p, broken)
	}
	s := &t.stretches[len(t.stretches)-1]
	s.teeth++
	if p.Y < s.low.Y {
		s.low = p
	}
	if p.Y > s.high.Y {
		s.high = p
	}
}

func (t *trail) next(p Point, broken bool) {
	t.perOne = max(t.perOne, 1)
	if len(t.stretches) == mostStretches {
		for i := range mostStretches / 2 {
			t.stretches[i] = t.stretches[2*i].join(t.stretches[2*i+1])
		}
		t.stretches = t.stretches[:mostStretches/2]
		t.perOne *= 2
	}
	t.stretches = append(t.stretches, stretch{low: p, high: p, broken: broken})
}

func (s stretch) join(o stretch) stretch {
	if o.low.Y < s.low.Y {
		s.low = o.low
	}
	if o.high.Y > s.high.Y {
		s.high = o.high
	}
	s.teeth += o.teeth
	s.broken = s.broken || o.broken
	return s
}

// span is the lowest and the highest speed.
func (t *trail) span() (low, high float64) {
	low, high = math.Inf(1), math.Inf(-1)
	for _, s := range t.stretches {
		low, high = min(low, s.low.Y), max(high, s.high.Y)
	}
	return low, high
}

// points are those of a line, in the order of time.
func (t *trail) points() []Point {
	var list []Point
	for _, s := range t.stretches {
		first, second := s.low, s.high
		if second.X < first.X {
			first, second = second, first
		}
		if s.broken {
			list = append(list, Point{first.X, math.NaN()})
		}
		list = append(list, first)
		if second.X > first.X {
			list = append(list, second)
		}
	}
	return list
}
