package simulate

import (
	"math"
	"math/rand/v2"
	"testing"
)

func upCrossings(v []float64, level float64) float64 {
	n := 0
	for i := 1; i < len(v); i++ {
		if v[i-1] <= level && v[i] > level {
			n++
		}
	}
	return float64(n)
}

func draw(n Noise, sampleHz float64, samples int) []float64 {
	g := newNoise(n, sampleHz, rand.New(rand.NewPCG(7, 8)))
	v := make([]float64, samples)
	for i := range v {
		v[i] = g.next(float64(i)/sampleHz, 0)
	}
	return v
}

// Sigma and the rate of zero crossings are as stated, over the whole range of
// rates, white noise included.
func TestNoiseIsAsStated(t *testing.T) {
	const sampleHz, samples = 100e3, 1 << 20
	for _, rate := range []float64{200, 1000, 5000, 12e3, 20e3, 0} {
		v := draw(Noise{SigmaV: 0.05, RateHz: rate}, sampleHz, samples)
		sum := 0.0
		for _, x := range v {
			sum += x * x
		}
		want := rate
		if rate == 0 {
			want = sampleHz / 4
		}
		seconds := samples / sampleHz
		// About two independent values for each crossing.
		if sigma := math.Sqrt(sum / samples); math.Abs(sigma/0.05-1) > 3/math.Sqrt(4*want*seconds)+1e-3 {
			t.Errorf("rate %g Hz: sigma %.5f V, want 0.05", rate, sigma)
		}
		if got := upCrossings(v, 0); math.Abs(got-want*seconds) > 4*math.Sqrt(want*seconds) {
			t.Errorf("rate %g Hz: %g upward crossings in %g s, want %g", rate, got, seconds, want*seconds)
		}
	}
}

// Crossings of a level follow S. O. Rice (Bell Syst. Tech. J. 23, 1944):
// f0·exp(−T²/2σ²) for well sampled noise, and q(1−q) per sample, q = Q(T/σ),
// for independent samples.
func TestNoiseCrossesLevelsAsRiceSays(t *testing.T) {
	const sampleHz, samples = 100e3, 1 << 21
	smooth := draw(Noise{SigmaV: 1, RateHz: 2500}, sampleHz, samples)
	white := draw(Noise{SigmaV: 1}, sampleHz, samples)
	for _, level := range []float64{1, 2, 3, 3.5} {
		want := 2500 * samples / sampleHz * math.Exp(-level*level/2)
		if got := upCrossings(smooth, level); math.Abs(got-want) > 3*math.Sqrt(want)+0.02*want {
			t.Errorf("smooth noise over %gσ: %g crossings, want %.0f", level, got, want)
		}
		q := math.Erfc(level/math.Sqrt2) / 2
		want = q * (1 - q) * samples
		if got := upCrossings(white, level); math.Abs(got-want) > 3*math.Sqrt(want) {
			t.Errorf("white noise over %gσ: %g crossings, want %.0f", level, got, want)
		}
	}
}
