package teeth

import (
	"math"

	"armcurve/captures/teeth/pulses"
)

// fitBias is by how much the fit about a peak stays below it, where the lobe is narrower
// on top than the fit reaches. A fit that reaches half as far follows it, but noise
// moves it more: so it is seen how the two differ in the mean over many teeth, where
// noise and sparks are small.
type fitBias struct {
	share, n, variance float64 // of the peak; the teeth it is the mean of; of a single one
}

const (
	biasOver  = 400 // teeth at most, or as many as tell it to
	biasError = 0.002
	biasFrom  = 40 // from which not every one is looked at
	biasEvery = 4  // but every so many
	biasMany  = 10 // that tell how far single teeth are off, and so what is hardly chance
	biasMost  = 4  // standard deviations
	biasLeast = 1e-6
	biasSure  = 1 // standard error, up to which it may be chance
)

// wants tells that a tooth is to be looked at, by its number.
func (l *fitBias) wants(n int) bool { return l.n < biasFrom || n%biasEvery == 0 }

// learn takes one tooth's, unless a spark or the like made it.
func (l *fitBias) learn(share float64) {
	l.n = min(l.n+1, max(biasFrom, min(l.variance/(biasError*biasError), biasOver)))
	off := share - l.share
	if most := biasMost * math.Sqrt(l.variance); l.n > biasMany && math.Abs(off) > most {
		l.variance += (most*most - l.variance) / l.n
		return
	}
	l.share += off / l.n
	if l.n > 1 {
		l.variance += (off*off - l.variance) / (l.n - 1)
	}
}

// told is the share that a peak is to be raised by: as much of the mean as is hardly
// chance (the positive part of W. James and C. Stein's estimate, Fourth Berkeley
// Symposium, 1961).
func (l *fitBias) told() float64 {
	if l.n < biasMany || l.share < biasLeast {
		return 0
	}
	sure := 1 - biasSure*biasSure*l.variance/l.n/(l.share*l.share)
	return max(0, sure) * l.share
}

// fitBiases are those of fits that reach less and less far, each held against one of half
// its reach. A smooth top leaves nothing to the second; a sharp one as much as its share
// of what the first lacked.
type fitBiases [2]fitBias

// told is the share that a peak is to be raised by, with what fits of ever less reach
// would add in the same proportion (A. C. Aitken's Δ², Proc. R. Soc. Edinb. 46, 1926, 289).
func (all *fitBiases) told() float64 {
	const sharpest = 0.6 // of what a fit lacks that one of half its reach may: at an edge it is a half
	first, second := all[0].told(), all[1].told()
	if !(first > 0 && second > 0) {
		return first
	}
	return first + second/(1-min(second/first, sharpest))
}

// learnBias learns what a fit which reached so far lacks at a peak, and one of half of that.
func (s *surveyor) learnBias(w *window, m *pulses.Mark, reach float64, all *fitBiases) {
	if !(m.PeakV > 0.2*m.Flux/(1.4*m.Width)) {
		return
	}
	f, before := &s.points, m.PeakV
	for i := range all {
		narrow := max(reach/2, fewestReach)
		if narrow > 0.8*reach || !f.about(w, s.restV, m.Top, narrow, 4) {
			return
		}
		height := f.height(f.place(m.Top), max(2, min(4, f.Count()-3)))
		all[i].learn(height/before - 1)
		before, reach = height, narrow
	}
}

// height is what the polynomial of an order tells of the wave at a place. A cell's mean
// is low by a 24th of its length squared times the bend; of single samples it has none.
func (f *points) height(x float64, order int) float64 {
	bent := f.Polynomial(order)
	q := float64(f.cell)
	return bent.At(x) - bent.Bend(x)/(f.half*f.half)*(q*q-1)/24
}
