package teeth

import (
	"math"
	"slices"
)

// humpProfile is the mean wave inside a gap, by angle.
type humpProfile struct {
	v      []float64 // volts from rest at one turn of the wheel per sample
	n      float64
	atEnds float64   // mean part of a passage at its end levels
	own    []float64 // the passage under way
}

const humpCells = 16 // in a pitch

// passGap takes the gap that ends at the newest passage into its profile.
func (g *gatherer) passGap() {
	p := g.pattern
	if p == nil || !p.Wheel.Gapped() || g.part(newest) == 0 {
		return
	}
	from, to := &g.ring[newest-1], &g.ring[newest]
	if p.Regular(from.Slot) || !from.Seen || !to.Seen || !g.w.holds(from.At-2, to.At+2) {
		return
	}
	pitches := int(math.Round(p.Parts[from.Slot] * float64(p.Wheel.Pitches)))
	g.humps[from.Slot].learn(g.w, from.At, to.At, pitches, from.RestV, p.Parts[from.Slot]/(to.At-from.At))
}

// hump is the largest hump in the gaps at a speed, in turns of the wheel per
// sample: a rise that falls back to the rest level before the next tooth's own.
// It grows with speed as the teeth do, so profiles are averaged at a common
// speed. NaN where there is no gap, or none was seen.
func (g *gatherer) hump(speed float64) float64 {
	highest := math.NaN()
	for j := range g.humps {
		if h := &g.humps[j]; h.n > 0 && !(h.height()*speed <= highest) {
			highest = h.height() * speed
		}
	}
	return highest
}

// learn takes one passage of the gap, pitches long, into the profile.
func (h *humpProfile) learn(w *window, from, to float64, pitches int, restV, speed float64) {
	n := pitches * humpCells
	if len(h.v) != n {
		h.v, h.own, h.n = make([]float64, n), make([]float64, n), 0
	}
	h.n = min(h.n+1, 8)
	size := (to - from) / float64(n)
	before := w.area(from)
	for i := range h.v {
		area := w.area(from + float64(i+1)*size)
		h.own[i] = (area - before) / size
		v := (h.own[i] + w.base - restV) / speed
		h.v[i] += (v - h.v[i]) / h.n
		before = area
	}
	h.atEnds += (endShare(h.own) - h.atEnds) / h.n
}

// height is the highest rise that falls back to rest between half a pitch after
// the last tooth and half a pitch before the next.
func (h *humpProfile) height() float64 {
	from, to := humpCells/2, len(h.v)-humpCells/2
	highest, rise := 0.0, 0.0
	for _, v := range h.v[from:to] {
		if v > 0 {
			rise = max(rise, v)
		} else {
			highest, rise = max(highest, rise), 0
		}
	}
	return highest
}

// endShare is the part of a wave that lies at its end levels.
func endShare(v []float64) float64 {
	n := 0
	low, high := slices.Min(v), slices.Max(v)
	for _, x := range v {
		if isAtEnd(x, low, high) {
			n++
		}
	}
	return float64(n) / float64(len(v))
}

// gapEnds is the least part of a gap at end levels; NaN where no gap was seen. It is told
// of each passage by itself: the mean of a switch's is at neither level where its teeth
// are not well followed.
func (g *gatherer) gapEnds() float64 {
	least := math.NaN()
	for j := range g.humps {
		if h := &g.humps[j]; h.n > 0 && !(h.atEnds >= least) {
			least = h.atEnds
		}
	}
	return least
}
