package teeth

import (
	"math"
	"slices"
)

// window is the stretch of the wave that is still needed: samples in volts on
// the arming side, without holes, and running sums of them in which spikes are
// limited, so that the mean over any stretch costs two look-ups.
type window struct {
	first int64     // position of v[0]
	v     []float64 //
	// sum[i] is the sum of the limited samples before v[i], less base each.
	// It reaches as far as was asked for.
	sum []float64

	base   float64 // subtracted from all, for the sake of precision
	rest   float64 // the level about which samples are limited
	limit  float64 // and how far from it, volts
	held   float64 // the last good sample
	step   float64 // of the instrument, as far as samples tell
	top    float64 // largest and smallest finite sample
	bottom float64
	holes  int64 // samples that were no number
	over   int64 // samples beyond the instrument's range

	samples int64 // added so far

	// lent tells that v and sum are being read elsewhere as they are now; then
	// they are left so, and the rest moves to the spare memory.
	lent             bool
	isLong           bool // so long that it is not to be kept twice
	spareV, spareSum []float64
}

const (
	usualLen     = 3 << 13 // samples that a window mostly keeps
	leastSurplus = 1 << 13 // that are worth forgetting
)

func newWindow() *window {
	return &window{v: make([]float64, 0, 2*usualLen), sum: make([]float64, 1, 2*usualLen+1), limit: math.Inf(1), top: math.Inf(-1), bottom: math.Inf(1)}
}

// add appends samples, turned so that the arming side is positive.
func (w *window) add(samples []float64, sign float64) {
	w.samples += int64(len(samples))
	have := len(w.v)
	w.v = slices.Grow(w.v, len(samples))[:have+len(samples)]
	added := w.v[have:]
	for i, x := range samples {
		if x *= sign; !(x >= w.bottom && x <= w.top) {
			if i > 0 {
				w.held = added[i-1]
			}
			x = w.admit(x)
		}
		added[i] = x
	}
	if len(added) > 0 {
		w.held = added[len(added)-1]
	}
}

// admit takes a sample that lies beyond all before, or is none: it gives what
// stands in its place.
func (w *window) admit(x float64) float64 {
	if x-x == 0 {
		w.top, w.bottom = max(w.top, x), min(w.bottom, x)
		return x
	}
	switch {
	case x > 0:
		w.over++
		x = w.top
	case x < 0:
		w.over++
		x = w.bottom
	default:
		w.holes++
		x = w.held
	}
	if x-x != 0 { // there was no finite one yet
		return w.held
	}
	return x
}

// newest is the piece that was added last.
func (w *window) newest() []float64 {
	n := int((w.samples-1)%pieceLen) + 1
	return w.v[max(0, len(w.v)-n):]
}

// end is the position after the last sample.
func (w *window) end() int64 { return w.first + int64(len(w.v)) }

// sumTo makes the running sums reach index n.
func (w *window) sumTo(n int) {
	n = min(n, len(w.v))
	have := len(w.sum) - 1
	if have >= n {
		return
	}
	w.sum = slices.Grow(w.sum, n-have)[:n+1]
	sums := w.sum[have : n+1]
	s, low, high, base := sums[0], w.rest-w.limit, w.rest+w.limit, w.base
	sums = sums[1:]
	for i, x := range w.v[have : have+len(sums)] {
		if !(x >= low && x <= high) {
			x = max(low, min(x, high))
		}
		s += x - base
		sums[i] = s
	}
}

// summedTo is the position up to which areas are known.
func (w *window) summedTo() float64 { return float64(w.first) + float64(len(w.sum)) - 4 }

// area is the running sum at a position, in volts times samples less base; a
// sample at position k covers k − 0.5 to k + 0.5.
func (w *window) area(at float64) float64 {
	x := at - float64(w.first) + 0.5
	i := int(x)
	if i < 1 {
		return w.sum[0]
	}
	if i >= len(w.sum)-2 {
		return w.sum[len(w.sum)-1]
	}
	f := x - float64(i)
	s := w.sum[i-1 : i+3 : i+3]
	bend := (s[3] - s[2] - s[1] + s[0]) / 2 // change of the wave over a sample
	return s[1] + f*(s[2]-s[1]+(f-1)/2*bend)
}

// mean is the mean of the limited samples between two positions, volts.
func (w *window) mean(from, to float64) float64 {
	return (w.area(to)-w.area(from))/(to-from) + w.base
}

// holds tells whether samples and sums cover the positions.
func (w *window) holds(from, to float64) bool {
	return from >= float64(w.first)+1 && to <= float64(w.first)+float64(len(w.sum))-3
}

// surplus is the number of samples to forget now, of those before a position: now
// and then many.
func (w *window) surplus(before int64) int {
	n := int(before - w.first)
	if n < spareFor(len(w.v)-n, w.isLong) {
		return 0
	}
	return min(n, len(w.sum)-1)
}

// spareFor is the number of samples that a window gathers, beside those that it keeps,
// before it forgets them all at once.
func spareFor(kept int, isLong bool) int {
	if isLong {
		return max(leastSurplus, kept/4)
	}
	return max(leastSurplus, min(kept, usualLen))
}

// drop forgets the first n samples.
func (w *window) drop(n int) {
	v, sum := w.v, w.sum
	switch {
	case w.isLong:
		w.spareV, w.spareSum = nil, nil
	case w.lent:
		v, sum, w.spareV, w.spareSum = w.spareV, w.spareSum, v, sum
	}
	kept := len(w.v) - n
	w.isLong = kept > usualLen || w.isLong && kept > usualLen*3/4
	room := kept + spareFor(kept, w.isLong) + pieceLen
	w.v, w.sum = append(fitting(v, room), w.v[n:]...), append(fitting(sum, room), w.sum[n:]...)
	w.first += int64(n)
}

// fitting is memory for so many values: what there is, unless that is too little or far
// too much.
func fitting(have []float64, room int) []float64 {
	if cap(have) < room || cap(have) > 2*room {
		return make([]float64, 0, room+room/8)
	}
	return have[:0]
}
