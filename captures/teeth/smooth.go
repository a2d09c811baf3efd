package teeth

import "math"

const (
	smoothed  = 9    // teeth over which a time is smoothened
	mostMoved = 0.02 // pitches by which noise moves a fall; more is the engine's doing
)

// smoothen works out the time of the tooth amid the ring's last ones from those
// about it: a parabola of time over angle, and what this tooth of the wheel
// usually deviates from it, whether because it sits askew or because the engine
// always speeds up there.
func (g *gatherer) smoothen() {
	const from = ringLen - smoothed
	const centre = from + smoothed/2
	p := g.pattern()
	if p == nil {
		return
	}
	turned := 0.0
	var x, y [smoothed]float64
	for i := range smoothed {
		t := &g.ring[from+i]
		if !t.seen || i > 0 && g.part(from+i) == 0 {
			return
		}
		if i > 0 {
			turned += g.part(from + i)
		}
		x[i], y[i] = turned, t.balance-g.ring[centre].balance
	}
	at := x[smoothed/2]
	for i := range x {
		x[i] = (x[i] - at) / turned
	}
	off := parabolaAtZero(&x, &y)
	tooth := &g.ring[centre]
	pitch := (y[smoothed-1] - y[0]) / turned / float64(len(p.parts))
	if len(g.offsets) != len(p.parts) {
		g.offsets = make([]slotGain, len(p.parts))
	}
	o := &g.offsets[tooth.slot]
	o.n = min(o.n, 8) // ripple changes as the engine speeds up
	o.learn(-off / pitch)
	if moved := off + o.mean*pitch; math.Abs(moved) < mostMoved*math.Abs(pitch) {
		tooth.smooth = tooth.balance + moved
	}
}

// parabolaAtZero is the value at 0 of the least-squares parabola through points
// at places that differ.
func parabolaAtZero(x, y *[smoothed]float64) float64 {
	var s1, s2, s3, s4, t0, t1, t2 float64
	for i := range x {
		a, b := x[i], y[i]
		q := a * a
		s1, s2, s3, s4 = s1+a, s2+q, s3+q*a, s4+q*q
		t0, t1, t2 = t0+b, t1+a*b, t2+q*b
	}
	const s0 = smoothed
	d0, d1, d2 := s2*s4-s3*s3, s1*s4-s2*s3, s1*s3-s2*s2
	return (t0*d0 - t1*d1 + t2*d2) / (s0*d0 - s1*d1 + s2*d2)
}

// timeOf is the position of a tooth for comparing the wave between teeth: as
// found where there is no noise, smoothened otherwise.
func (g *gatherer) timeOf(t *passage) float64 {
	if t.clean || t.smooth == 0 || g.offsets[t.slot].n < 4 {
		return t.balance
	}
	return t.smooth
}
