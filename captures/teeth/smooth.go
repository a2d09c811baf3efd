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
	fit, ok := fitPolynomial(x[:], y[:], 2)
	if !ok {
		return
	}
	tooth := &g.ring[centre]
	pitch := (y[smoothed-1] - y[0]) / turned / float64(len(p.parts))
	if len(g.offsets) != len(p.parts) {
		g.offsets = make([]slotGain, len(p.parts))
	}
	o := &g.offsets[tooth.slot]
	o.n = min(o.n, 8) // ripple changes as the engine speeds up
	o.learn(-fit.c[0] / pitch)
	if moved := fit.c[0] + o.mean*pitch; math.Abs(moved) < mostMoved*math.Abs(pitch) {
		tooth.smooth = tooth.balance + moved
	}
}

// timeOf is the position of a tooth for comparing the wave between teeth: as
// found where there is no noise, smoothened otherwise.
func (g *gatherer) timeOf(t *passage) float64 {
	if t.clean || t.smooth == 0 || g.offsets[t.slot].n < 4 {
		return t.balance
	}
	return t.smooth
}
