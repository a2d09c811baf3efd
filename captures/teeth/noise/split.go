package noise

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/dsp/fourier"
)

// Split splits noise into steady tones and the rest.
type Split struct {
	ToneV  float64 // sum of the tones' amplitudes
	Share  float64 // of the variance that is not tones
	RateHz float64 // upward zero crossings per second of the rest
}

// MostSplit is the number of samples looked at, at most.
const MostSplit = 1 << 17

const (
	tonesLeast = 1 << 12
	lineReach  = 3   // bins on either side of a line that a Hann window spreads it to
	lineHeight = 40. // times the median about it makes a line; noise alone reaches half of that
	lineAround = 64  // bins on either side for that median
)

// SplitTones looks for lines in the spectrum of noise about 0 that is sampled
// every stepS.
func SplitTones(v []float64, stepS float64) (s Split, ok bool) {
	n := MostSplit
	for n > len(v) {
		n /= 2
	}
	if n < tonesLeast {
		return s, false
	}
	windowed := make([]float64, n)
	for i := range windowed {
		windowed[i] = v[i] * (1 - math.Cos(2*math.Pi*float64(i)/float64(n)))
	}
	power := make([]float64, n/2)
	powers(power, fourier.NewFFT(n).Coefficients(nil, windowed))
	isLine := lines(power)
	total, rest, correlation := 0.0, 0.0, 0.0
	for i := 0; i < len(power); i++ {
		total += power[i]
		if isLine[i] {
			continue
		}
		rest += power[i]
		correlation += power[i] * math.Cos(2*math.Pi*float64(i)/float64(n))
	}
	if !(rest > 0) {
		return s, false
	}
	s.Share = rest / total
	// Exact for Gaussian noise in samples (S. O. Rice, Bell Syst. Tech. J. 24,
	// 1945, for discrete time).
	s.RateHz = math.Acos(max(-1, min(1, correlation/rest))) / (2 * math.Pi * stepS)
	s.ToneV = toneSum(power, isLine)
	return s, true
}

// powers are those of a spectrum's coefficients.
func powers(to []float64, coefficients []complex128) {
	for i := range to {
		c := coefficients[i]
		to[i] = real(c)*real(c) + imag(c)*imag(c)
	}
}

// lines marks the bins that stand out of those about them, with their skirts.
func lines(power []float64) []bool {
	isLine := make([]bool, len(power))
	for from := 0; from < len(power); from += lineAround {
		about := slices.Clone(power[max(0, from-lineAround):min(len(power), from+2*lineAround)])
		slices.Sort(about)
		limit := lineHeight * about[len(about)/2]
		for i := from; i < min(from+lineAround, len(power)); i++ {
			if i > lineReach && power[i] > limit {
				for k := i - lineReach; k <= min(i+lineReach, len(power)-1); k++ {
					isLine[k] = true
				}
			}
		}
	}
	return isLine
}

// toneSum adds the amplitudes of the lines: a run of marked bins holds the
// power of one tone, times three eighths of the window's square.
func toneSum(power []float64, isLine []bool) float64 {
	n := 2 * len(power)
	sum, run := 0.0, 0.0
	for i := range power {
		if isLine[i] {
			run += power[i]
			continue
		}
		sum += amplitude(run, n)
		run = 0
	}
	return sum + amplitude(run, n)
}

// amplitude is that of a tone whose power in the spectrum of n samples, under
// a window of 1 − cos, is given: n²·a²/4 times the window's mean square of 3/2.
func amplitude(power float64, n int) float64 {
	return math.Sqrt(power*4/1.5) / float64(n)
}
