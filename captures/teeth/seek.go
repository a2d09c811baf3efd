package teeth

import (
	"math"
	"slices"

	"armcurve/captures/teeth/median"
	"armcurve/captures/teeth/pulses"
)

const (
	seekFirst = 1 << 14 // samples that a wave is sought in
	seekMost  = 1 << 19

	fewestSought = 32 // samples: fewer show no wave

	waitWidths = 30 // before the first pulse, from which a wave is followed: weak ones may come before
)

// seekAgain looks for a wave from a position on.
func (r *run) seekAgain(from int64) {
	r.seeking, r.seekSize, r.seekFrom, r.towering = true, seekFirst, from, 0
}

// seekOn looks for the wave that was followed where it is no longer seen. A few pulses do not
// tell of another.
func (r *run) seekOn(from int64) {
	if r.forward.found >= settledIn {
		r.known = scale{width: r.forward.width, flux: r.forward.flux}
	}
	r.seekAgain(from)
}

// goBack looks for a wave from some samples before a pulse on, or from the last mark,
// since the pulse shows that another wave was followed; false where a pulse from
// there on has shown it before, lest it be shown for ever.
func (r *run) goBack(at, samples float64) bool {
	if at <= r.backAt+samples {
		return false
	}
	r.backAt = at
	r.seekAgain(max(r.w.first, int64(min(at-samples, r.lastAt))))
	return true
}

// isOften tells whether it is time to look again whether what is followed is the
// wave: at each of the first pulses, and now and then.
func (r *run) isOften() bool { return r.forward.found < 2*settledIn || r.forward.found%16 == 0 }

// towers tells that both half-waves of several pulses in a row go beyond what
// samples are limited to: noise was taken for the wave, and here is the wave.
func (r *run) towers(m pulses.Mark) bool {
	const enough = 3
	r.towering++
	for _, x := range []float64{m.At - m.Width/2, m.At + m.Width/2} {
		if i := int(x) - int(r.w.first); i < 0 || i >= len(r.w.v) || math.Abs(r.w.v[i]-r.w.rest) <= r.w.limit {
			r.towering = 0
		}
	}
	return r.towering >= enough
}

// seek looks for a wave of any scale; false where more samples are needed.
func (r *run) seek() bool {
	w := r.w
	for {
		from := int(r.seekFrom - w.first)
		from = max(from, 0)
		have := len(w.v) - from
		if have < r.seekSize && !r.ended || have < fewestSought {
			return false
		}
		r.pipeline.settle() // sums are written anew
		w.resum(from)
		s, ok := w.findScale(from, r.known)
		if ok && s.limit() > w.limit {
			// The pulses are so rare that they were cut off themselves.
			w.limit = s.limit()
			w.sumAgain(from)
			s, ok = w.findScale(from, r.known)
		}
		if ok && s.flux > 0 {
			// Not at once, where the first pulse is far.
			r.found(s, from+max(0, s.first-int(waitWidths*s.width)))
			return true
		}
		switch {
		case r.ended:
			return false
		case r.seekSize < seekMost:
			r.seekSize *= 4
		default:
			r.seekFrom = w.first + int64(from+r.seekSize/2)
		}
	}
}

// found begins to follow a wave.
func (r *run) found(s scale, from int) {
	w := r.w
	r.seeking = false
	level := s.restV
	switch {
	case w.hasTwoLevels(from): // of which the median is one
		level = (w.bottom + w.top) / 2
	case w.standsUnlike(from):
		r.surveyor.cut = cutTeeth
		level = r.surveyor.steady(w.rest, s.amplitude()) // a median does not mind
	case w.isCut(from):
		level = r.surveyor.steady(w.rest, s.amplitude())
	default:
		level = r.surveyor.steady(level, s.amplitude())
	}
	w.rest, w.limit = level, s.limit()
	w.sum = w.sum[:from+1]
	at := w.first + int64(from)
	if at == 0 {
		w.padFront(int(2*s.width)+2, level)
		at = w.first
	}
	r.surveyor.begin(level, float64(at))
	r.forward.begin(s, at)
	for i := range r.swings {
		r.swings[i].begin(s, at)
	}
}

// limit is how far from rest samples are taken, of a wave of this scale.
func (s *scale) limit() float64 { return 2.5 * s.amplitude() }

// amplitude is roughly how high pulses of this scale rise, volts.
func (s *scale) amplitude() float64 { return s.flux / (1.4 * s.width) }

// isCut tells that many samples from an index on stand at the highest or the
// lowest value.
func (w *window) isCut(from int) bool {
	const many = 0.02
	n := 0
	for _, x := range w.v[from:] {
		if x == w.top || x == w.bottom {
			n++
		}
	}
	return float64(n) > many*float64(len(w.v)-from)
}

// standsUnlike tells that from an index on a clamp cuts the wave off unlike above and below.
func (w *window) standsUnlike(from int) bool {
	return standUnlike(w.v[from:], w.v[from:], w.rest, wavePlaces)
}

// hasTwoLevels tells that from an index on the wave is held at one end of its range or
// the other, and the level that was taken for its rest is one of them.
func (w *window) hasTwoLevels(from int) bool {
	if !isAtEnd(w.rest, w.bottom, w.top) {
		return false
	}
	var halves [2]half
	for _, x := range w.v[from:] {
		halves[side(x, w.bottom, w.top)].add(isAtEnd(x, w.bottom, w.top))
	}
	return halves[0].atEnd > surelyEnds*halves[0].n && halves[1].atEnd > surelyEnds*halves[1].n
}

// resum starts the running sums anew from an index, limited by how the samples
// from there to the end are spread.
func (w *window) resum(from int) {
	some := make([]float64, 0, 4096)
	step := max(1, (len(w.v)-from)/4000)
	for i := from; i < len(w.v); i += step {
		some = append(some, w.v[i])
	}
	slices.Sort(some)
	w.rest, w.step = median.OfSorted(some), leastGap(some)
	for i := range some {
		some[i] = math.Abs(some[i] - w.rest)
	}
	slices.Sort(some)
	// Pulses may be rare, and sparks several times as high.
	w.limit = max(3*some[len(some)*95/100], 0.4*some[len(some)-1])
	if w.limit == 0 {
		w.limit = max(some[len(some)-1], math.SmallestNonzeroFloat64)
	}
	if len(w.sum) == 1 {
		w.base = w.rest
	}
	w.sumAgain(from)
}

// sumAgain makes the sums from an index on to the end anew.
func (w *window) sumAgain(from int) {
	w.sumTo(from)
	w.sum = w.sum[:from+1]
	w.sumTo(len(w.v))
}

// leastGap is the least distance of sorted values that are not the same, but for
// rounding; 0 where all are.
func leastGap(sorted []float64) float64 {
	const rounding = 1e-9
	n := len(sorted)
	if n == 0 {
		return 0
	}
	same, least := rounding*(sorted[n-1]-sorted[0]), 0.0
	for i := 1; i < n; i++ {
		if gap := sorted[i] - sorted[i-1]; gap > same {
			least = lesser(least, gap)
		}
	}
	return least
}

// padFront puts samples at rest before the first of the wave, so that a tooth
// at its very beginning can be seen.
func (w *window) padFront(n int, level float64) {
	w.v = slices.Insert(w.v, 0, slices.Repeat([]float64{level}, n)...)
	w.first -= int64(n)
	w.sum = w.sum[:1]
}
