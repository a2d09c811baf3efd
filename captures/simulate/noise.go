package simulate

import (
	"fmt"
	"math"
	"math/rand/v2"
)

// Window is a stretch of time; the zero value is always.
type Window struct {
	FromS  float64 `json:"from_s"`
	UntilS float64 `json:"until_s"` // 0: to the end
}

func (w Window) holds(atS float64) bool {
	return atS >= w.FromS && (w.UntilS == 0 || atS < w.UntilS)
}

// Noise is a Gaussian noise. Several of them may be given.
type Noise struct {
	// SigmaV is the standard deviation with the engine stopped, volts.
	SigmaV float64 `json:"sigma_v"`
	// SigmaPerRPMV is added to it for each rpm of the engine.
	SigmaPerRPMV float64 `json:"sigma_per_rpm_v"`
	// RateHz is the number of upward zero crossings per second of the samples.
	// 0 is white: every sample independent, a quarter of the sample rate.
	RateHz float64 `json:"rate_hz"`
	Window
}

// SigmaAt is the standard deviation at an engine speed.
func (n Noise) SigmaAt(rpm float64) float64 { return n.SigmaV + n.SigmaPerRPMV*rpm }

func (n Noise) check(sampleHz float64) error {
	if !(n.SigmaV >= 0 && n.SigmaPerRPMV >= 0) || math.IsInf(n.SigmaV+n.SigmaPerRPMV, 0) {
		return fmt.Errorf("noise sigma is %g V: want 0 or more", n.SigmaV)
	}
	if !(n.RateHz == 0 || n.RateHz >= sampleHz/5000 && n.RateHz <= sampleHz/5) {
		return fmt.Errorf("noise rate is %g Hz: want %g to %g Hz at this sample rate, or 0 for white noise",
			n.RateHz, sampleHz/5000, sampleHz/5)
	}
	return nil
}

// noise draws one Noise sample by sample.
type noise struct {
	Noise
	random *rand.Rand
	filter *lowPass // nil for white
}

func newNoise(n Noise, sampleHz float64, random *rand.Rand) *noise {
	g := &noise{Noise: n, random: random}
	if n.RateHz > 0 {
		g.filter = newLowPass(n.RateHz / sampleHz)
		for range g.filter.memory {
			g.filter.next(random.NormFloat64())
		}
	}
	return g
}

// next draws even outside the window, so that a window changes nothing else.
func (g *noise) next(atS, rpm float64) float64 {
	v := g.random.NormFloat64()
	if g.filter != nil {
		v = g.filter.next(v)
	}
	if !g.holds(atS) {
		return 0
	}
	return v * g.SigmaAt(rpm)
}

// lowPass is a Butterworth filter of fourth order that makes white noise of
// variance 1 into noise of variance 1 with a given rate of zero crossings.
type lowPass struct {
	gain     float64
	a1, a2   [2]float64
	z1, z2   [2]float64
	variance float64 // of the output at gain 1
	lag1     float64 // covariance of neighbouring outputs at gain 1
	memory   int     // samples until it has forgotten
}

// newLowPass finds the corner at which the noise crosses zero upwards the given
// number of times per sample. For Gaussian noise that number is exactly
// arccos(ρ)/2π, ρ the correlation of neighbouring samples (S. O. Rice, Bell
// Syst. Tech. J. 24, 1945, for discrete time).
func newLowPass(crossingsPerSample float64) *lowPass {
	want := math.Cos(2 * math.Pi * crossingsPerSample)
	low, high := crossingsPerSample/4, 0.49
	for range 60 {
		corner := (low + high) / 2
		if f := butterworth(corner); f.lag1/f.variance > want {
			low = corner
		} else {
			high = corner
		}
	}
	f := butterworth((low + high) / 2)
	f.gain /= math.Sqrt(f.variance)
	return f
}

// butterworth designs the filter by the bilinear transform, corner in cycles
// per sample, and sums its impulse response for variance and correlation.
func butterworth(corner float64) *lowPass {
	f := &lowPass{gain: 1, memory: int(12/corner) + 16}
	k := math.Tan(math.Pi * corner)
	scale := 1.0
	for i, damping := range []float64{2 * math.Sin(math.Pi/8), 2 * math.Sin(3*math.Pi/8)} {
		norm := 1 / (1 + damping*k + k*k)
		f.a1[i] = 2 * (k*k - 1) * norm
		f.a2[i] = (1 - damping*k + k*k) * norm
		scale *= k * k * norm
	}
	impulse, before := scale, 0.0
	for range f.memory {
		h := f.next(impulse)
		f.variance += h * h
		f.lag1 += h * before
		impulse, before = 0, h
	}
	f.gain = scale
	f.z1, f.z2 = [2]float64{}, [2]float64{}
	return f
}

// next filters one sample. Both sections have the numerator 1 + 2z⁻¹ + z⁻².
func (f *lowPass) next(x float64) float64 {
	x *= f.gain
	for i := range 2 {
		y := x + f.z1[i]
		f.z1[i] = 2*x - f.a1[i]*y + f.z2[i]
		f.z2[i] = x - f.a2[i]*y
		x = y
	}
	return x
}
