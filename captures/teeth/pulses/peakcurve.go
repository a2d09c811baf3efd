package pulses

import (
	"math"

	"armcurve/captures/teeth/polyfit"
)

// PeakCurve is the wave about a tooth's peak, by the fit that told its height: so that the
// height can be told anew when the tooth turns out to have been elsewhere. It is zero
// where the tooth's own vertex was taken, which noise does not put elsewhere. As many are
// kept, they are so in 32 bits.
type PeakCurve struct {
	Unit  float32    // samples in a pitch, about
	Lever float32    // of those, as the tooth before tells them, from the peak to the place of the tooth
	held  float32    // part of what moves that place which moves the peak
	terms [4]float32 // volts to the powers of 1 to 4 of the samples from the peak over unit
	ends  [2]float32 // units from the peak to where the fit ends
}

// NewPeakCurve is that of a peak at a place among the points of a fit; h is a unit in halves
// of what they cover.
func NewPeakCurve(bent *polyfit.Polynomial, x, h, unit, held float64) PeakCurve {
	terms := [4]float64{bent.Slope(x), bent.Bend(x) / 2, bent[3] + 4*x*bent[4], bent[4]}
	c := PeakCurve{Unit: float32(unit), held: float32(held), ends: [2]float32{float32((-1 - x) / h), float32((1 - x) / h)}}
	power := 1.0
	for i, term := range terms {
		power *= h
		c.terms[i] = float32(term * power)
	}
	return c
}

// Scale makes it that of a wave so many times as high.
func (c *PeakCurve) Scale(a float64) {
	for i := range c.terms {
		c.terms[i] *= float32(a)
	}
}

// Shift is how many samples on the peak is where its tooth is found to be some samples
// on, and a pitch to be so long.
func (c *PeakCurve) Shift(ahead, pitch float64) float64 {
	return float64(c.held) * (ahead - float64(c.Lever)*(pitch-float64(c.Unit)))
}

// Rise is how much higher the wave is some samples on, as far as the fit goes.
func (c *PeakCurve) Rise(ahead float64) float64 {
	if c.Unit == 0 {
		return 0
	}
	x := max(c.ends[0], min(c.ends[1], float32(ahead)/c.Unit))
	return float64(x * (c.terms[0] + x*(c.terms[1]+x*(c.terms[2]+x*c.terms[3]))))
}

// Lowering is by what part of its height a peak is low in the mean where it is looked for
// elsewhere, by the variance of that in units; NaN where it does not tell.
func (c *PeakCurve) Lowering(peakV float64) float64 {
	const sharpest = 1000 // a sine has 20
	if !(c.Unit > 0 && peakV > 0) {
		return math.NaN()
	}
	return min(-float64(c.terms[1])/peakV, sharpest)
}
