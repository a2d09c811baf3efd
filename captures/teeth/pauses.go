package teeth

import "armcurve/captures/teeth/noise"

const (
	pulseReach  = 2.2 // widths from a fall beyond which the pulse has faded
	leastQuiet  = 32  // samples
	quietOrder  = 3   // of the polynomial that what is left of pulses follows
	quietPieces = 256 // samples that one polynomial has to follow, at most
)

// measurePause adds to the noise the samples between the last two teeth where the
// pulses have faded, less a slow drift.
func (g *gatherer) measurePause() {
	from, to := &g.ring[newest-1], &g.ring[newest]
	i := int(from.At+pulseReach*from.Width) - int(g.w.first)
	end := int(to.At-pulseReach*to.Width) - int(g.w.first)
	if i < 0 || end > len(g.w.sum)-1 || end-i < leastQuiet {
		return
	}
	pieces := (end - i + quietPieces - 1) / quietPieces
	for k := range pieces {
		g.measurePiece(i+k*(end-i)/pieces, i+(k+1)*(end-i)/pieces, from.RestV)
	}
}

func (g *gatherer) measurePiece(i, end int, restV float64) {
	first := float64(g.w.first)
	middle, half := first+float64(i+end-1)/2, float64(end-i)/2
	if !g.points.about(g.w, restV, middle, half, quietOrder) {
		return
	}
	drift := g.points.Polynomial(quietOrder)
	var left [quietPieces]float64
	for k := i; k < end; k++ {
		left[k-i] = g.w.v[k] - restV - drift.At(g.points.place(first+float64(k)))
	}
	r := &g.noise.In(noise.InPauses)[0]
	r.Begin()
	r.Add(left[:end-i])
}
