package report

import "math"

// Extremes is the lowest and highest sample of each stretch of a wave, so that
// a picture of the whole hides nothing. It is filled from front to back and
// knows nothing of the wave's length beforehand.
type Extremes struct {
	columns   []column
	perColumn int64
}

// column is a stretch of a wave. OverRange tells that the instrument ran out of
// range in it.
type column struct {
	low, high float64
	samples   int64
	overRange bool
}

// mostColumns is how many stretches there are at most; when they are used up
// each two become one.
const mostColumns = 640

// NewExtremes returns an empty one.
func NewExtremes() *Extremes { return &Extremes{perColumn: 1} }

// Add takes the next samples. What is not a number counts as a sample that
// says nothing; ±Inf as one out of range.
func (e *Extremes) Add(v []float64) {
	for len(v) > 0 {
		if n := len(e.columns); n == 0 || e.columns[n-1].samples == e.perColumn {
			e.next()
		}
		last := &e.columns[len(e.columns)-1]
		n := min(int64(len(v)), e.perColumn-last.samples)
		last.add(v[:n])
		v = v[n:]
	}
}

// span is the lowest and the highest sample of all; false where none is a
// number.
func (e *Extremes) span() (low, high float64, ok bool) {
	low, high = math.Inf(1), math.Inf(-1)
	for _, c := range e.columns {
		low, high = min(low, c.low), max(high, c.high)
	}
	return low, high, low <= high
}

func (e *Extremes) next() {
	if len(e.columns) == mostColumns {
		for i := range mostColumns / 2 {
			e.columns[i] = e.columns[2*i].join(e.columns[2*i+1])
		}
		e.columns = e.columns[:mostColumns/2]
		e.perColumn *= 2
	}
	e.columns = append(e.columns, column{low: math.Inf(1), high: math.Inf(-1)})
}

func (c *column) add(v []float64) {
	c.samples += int64(len(v))
	for _, x := range v {
		if math.IsInf(x, 0) {
			c.overRange = true
			continue
		}
		if x < c.low {
			c.low = x
		}
		if x > c.high {
			c.high = x
		}
	}
}

func (c column) join(d column) column {
	return column{min(c.low, d.low), max(c.high, d.high), c.samples + d.samples, c.overRange || d.overRange}
}
