package teeth

import (
	"math"

	"armcurve/captures/teeth/numbering"
	"armcurve/captures/teeth/wheels"
)

const (
	smoothed  = 9    // teeth over which a time is smoothened
	mostMoved = 0.02 // pitches by which noise moves a fall; more is the engine's doing
)

// smoother weighs the times of the teeth about one so that they make a parabola
// of time over angle; one for each tooth of the wheel.
type smoother struct {
	weights [smoothed]float64
	pitch   float64 // a pitch as a share of the time from the first to the last
}

// newSmoothers works out the weights for each tooth of a wheel.
func newSmoothers(p *wheels.Pattern) []smoother {
	n := len(p.Parts)
	all := make([]smoother, n)
	for slot := range all {
		var x [smoothed]float64
		for i := 1; i < smoothed; i++ {
			from := (slot - smoothed/2 + i - 1 + smoothed*n) % n
			x[i] = x[i-1] + p.Parts[from]
		}
		turned, at := x[smoothed-1], x[smoothed/2]
		for i := range x {
			x[i] = (x[i] - at) / turned
		}
		all[slot] = smoother{parabolaAtZero(&x), 1 / (turned * float64(n))}
	}
	return all
}

// parabolaAtZero has the weights of values at places that differ in the value
// at 0 of their least-squares parabola.
func parabolaAtZero(x *[smoothed]float64) (weights [smoothed]float64) {
	var s1, s2, s3, s4 float64
	for _, a := range x {
		q := a * a
		s1, s2, s3, s4 = s1+a, s2+q, s3+q*a, s4+q*q
	}
	const s0 = smoothed
	d0, d1, d2 := s2*s4-s3*s3, s1*s4-s2*s3, s1*s3-s2*s2
	for i, a := range x {
		weights[i] = (d0 - a*d1 + a*a*d2) / (s0*d0 - s1*d1 + s2*d2)
	}
	return weights
}

// smoothen works out the time of the tooth amid the ring's last ones from those
// about it, and what this tooth of the wheel usually deviates from it, whether
// because it sits askew or because the engine always speeds up there.
func (g *gatherer) smoothen() {
	const from = ringLen - smoothed
	const centre = from + smoothed/2
	if g.streak < smoothed {
		return
	}
	tooth := &g.ring[centre]
	off := 0.0
	smoother := &g.smoothers[tooth.Slot]
	for i, weight := range smoother.weights {
		off += weight * (g.ring[from+i].Balance - tooth.Balance)
	}
	pitch := (g.ring[newest].Balance - g.ring[from].Balance) * smoother.pitch
	o := &g.offsets[tooth.Slot]
	o.n = min(o.n, 8) // ripple changes as the engine speeds up
	o.learn(-off / pitch)
	if moved := off + o.mean*pitch; math.Abs(moved) < mostMoved*math.Abs(pitch) {
		tooth.Smooth = tooth.Balance + moved
	}
}

// timeOf is the position of a tooth for comparing the wave between teeth: as
// found where there is no noise, smoothened otherwise.
func (g *gatherer) timeOf(t *numbering.Tooth) float64 {
	if t.Clean || t.Smooth == 0 || g.offsets[t.Slot].n < 4 {
		return t.Balance
	}
	return t.Smooth
}
