package report

import "math"

// scale puts values of one axis into the picture.
type scale struct {
	from, to   float64 // values at the ends
	start, end float64 // places of the ends
	ratio      bool
	stillFrom  float64 // the strip kept for 0
	stillTo    float64
	hasStill   bool
	step       float64 // of the labels; 0 for a round one
	across     bool    // labels stand side by side
}

// at is the place of a value; ok is false where it has none.
func (s scale) at(v float64) (place float64, ok bool) {
	if s.hasStill && v == 0 {
		return (s.stillFrom + s.stillTo) / 2, true
	}
	share := (v - s.from) / (s.to - s.from)
	if s.ratio {
		if !(v > 0) {
			return 0, false
		}
		share = math.Log(v/s.from) / math.Log(s.to/s.from)
	}
	const slack = 1e-6
	if !(share >= -slack && share <= 1+slack) {
		return 0, false
	}
	return s.start + share*(s.end-s.start), true
}

// held is the place of a value, or of the end of the axis it lies beyond; ok is
// false for what is not a number.
func (s scale) held(v float64) (place float64, ok bool) {
	if math.IsNaN(v) {
		return 0, false
	}
	return s.at(min(max(v, s.from), s.to))
}

func (s scale) ticks() []tick {
	var list []tick
	if s.hasStill {
		list = append(list, tick{text: "0", still: true})
	}
	if s.ratio {
		return append(list, ratioTicks(s.from, s.to)...)
	}
	if s.step > 0 {
		return append(list, multiples(s.step, s.from, s.to)...)
	}
	if s.across {
		return append(list, s.sparse()...)
	}
	return append(list, evenTicks(s.from, s.to, mostTicks)...)
}

// letterWidth is that of a digit on the smallest screen, in the units of the
// view box.
const letterWidth = 14

// sparse are as many ticks as there is room for their labels.
func (s scale) sparse() []tick {
	list := evenTicks(s.from, s.to, mostTicks)
	for most := mostTicks - 1; most > 2 && crowded(list, math.Abs(s.end-s.start)); most-- {
		list = evenTicks(s.from, s.to, most)
	}
	return list
}

func crowded(list []tick, room float64) bool {
	width := 0
	for _, t := range list {
		width += letterWidth * (len(t.text) + 1)
	}
	return float64(width) > room
}

// extent gathers the range of values.
type extent struct {
	low, high float64
	ratio     bool
}

func newExtent(a Axis) extent {
	e := extent{math.Inf(1), math.Inf(-1), a.Ratio}
	if a.From != 0 || a.To != 0 {
		e.add(a.From)
		e.add(a.To)
	}
	return e
}

func (e *extent) add(v float64) {
	if math.IsNaN(v) || math.IsInf(v, 0) || e.ratio && v <= 0 {
		return
	}
	e.low, e.high = min(e.low, v), max(e.high, v)
}

// ends are the ends of an axis that holds the values, apart from each other
// whatever they are.
func (e extent) ends() (from, to float64) {
	switch {
	case e.low > e.high:
		return 1, 10
	case e.low < e.high:
		return e.low, e.high
	case e.ratio:
		return e.low / 2, e.high * 2
	}
	half := math.Max(math.Abs(e.low)/10, 0.5)
	return e.low - half, e.high + half
}
