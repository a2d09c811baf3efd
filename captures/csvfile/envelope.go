package csvfile

import (
	"math"

	"armcurve/captures"
)

// envelope gives the two values that a peak-detecting instrument writes for
// each time, the lowest and the highest, in the order in which the wave must
// have passed them: upwards where it rises from the pair before to the pair
// after, downwards where it falls.
type envelope struct {
	*samples
	inner captures.Block
	held  [][]float64 // by channel: the pair before, and what waits for a pair after
	next  int64
	begun bool
	err   error
}

// Next implements captures.Source.
func (e *envelope) Next(b *captures.Block) error {
	empty(b, len(e.layout.chosen))
	b.First = e.next
	for e.err == nil && b.Len() == 0 {
		if e.err = e.samples.Next(&e.inner); e.err == nil {
			e.take()
		}
		e.give(b, e.err != nil)
	}
	e.next += int64(b.Len())
	if b.Len() > 0 {
		return nil
	}
	return e.err
}

// take puts what was read behind what is held.
func (e *envelope) take() {
	if e.held == nil {
		e.held = make([][]float64, len(e.inner.V))
	}
	for c, values := range e.inner.V {
		e.held[c] = append(e.held[c], values...)
	}
}

// give gives every pair that has a pair after it, all at the end. The last
// pair given stays at the front as the pair before.
func (e *envelope) give(b *captures.Block, atEnd bool) {
	for c := range b.V {
		if c < len(e.held) {
			e.held[c], b.V[c] = ordered(e.held[c], b.V[c], e.begun, atEnd)
		}
	}
	e.begun = e.begun || b.Len() > 0
}

// ordered appends the pairs of held to out in order, and returns what is still
// to be held.
func ordered(held, out []float64, begun, atEnd bool) (rest, given []float64) {
	at := 2 * one(begun)
	for ; at+3 < len(held) || atEnd && at < len(held); at += 2 {
		if at+1 == len(held) {
			out = append(out, held[at]) // half a pair
			continue
		}
		before, after := middle(held, max(at-2, 0)), middle(held, min(at+2, len(held)-2))
		first, second := held[at], held[at+1]
		if (after >= before) != (second >= first) {
			first, second = second, first
		}
		out = append(out, first, second)
	}
	keep := min(max(at-2, 0), len(held))
	n := copy(held, held[keep:])
	return held[:n], out
}

func middle(values []float64, at int) float64 {
	if math.IsNaN(values[at]) {
		return values[at+1]
	}
	return (values[at] + values[at+1]) / 2
}
