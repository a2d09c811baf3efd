package noise

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/dsp/fourier"

	"armcurve/captures/teeth/median"
)

// seriesSpectrum is the spectrum of a series in one of the domains.
type seriesSpectrum struct {
	fft          *fourier.FFT
	grid, window []float64
	bins         []complex128
	power        []float64
	sums         []float64 // of the powers before each
}

// line is one that stands out of a spectrum.
type line struct {
	domain int
	rate   float64 // cycles per sample or turn
	width  float64 // between bins, the same
	power  float64
	height float64 // power over the median of those about it
}

const (
	gridCells  = 1 << 13 // over a series: of eight turns they show 500 cycles in each
	ofTheWheel = 0.5     // bins that a line of the wheel itself is off a whole number in a turn, at most
	apparent   = 20.     // times the mean about it a line is worth a closer look
	toneHeight = 100.    // and the median, as of two turns that differ noise has twice the usual power in places
)

// line is the highest in a domain that is not the wheel's, nor one refused.
func (s *seriesSpectrum) line(t *Series, domain int, refused []line) (best line, ok bool) {
	s.transform(t, domain)
	width := 1 / t.length(domain)
	turns := t.length(overAngle)
	isOpen := func(rate float64) bool {
		perTurn := rate / width / turns
		return math.Abs(perTurn-math.Round(perTurn))*turns > ofTheWheel && !slices.ContainsFunc(refused, func(r line) bool {
			return r.domain == domain && math.Abs(r.rate-rate) < 2*width
		})
	}
	fastest := min(len(s.power), int(t.length(domain)/t.meanStep(domain)/2)) // that samples tell
	for i := lineReach + 1; i < fastest-lineReach; i++ {
		height := s.height(i, fastest)
		if height < toneHeight || height < best.height {
			continue
		}
		if rate := (float64(i) + s.topBeside(i)) * width; isOpen(rate) {
			best, ok = line{domain, rate, width, s.power[i], height}, true
		}
	}
	return best, ok
}

// height is that of the line at a bin; 0 where there is none.
func (s *seriesSpectrum) height(i, bins int) float64 {
	p := s.power[i]
	if p < s.power[i-1] || p < s.power[i+1] {
		return 0
	}
	from, to := max(0, i-lineAround), min(bins, i+lineAround+1)
	about := s.sums[to] - s.sums[from] - (s.sums[i+lineReach+1] - s.sums[i-lineReach])
	if p < apparent*about/float64(to-from-2*lineReach-1) {
		return 0
	}
	return p / median.Of(s.power[from:to])
}

// topBeside is how far the top of a line is from its bin, by the parabola through the
// logarithms of three powers.
func (s *seriesSpectrum) topBeside(i int) float64 {
	a, b, c := math.Log(s.power[i-1]), math.Log(s.power[i]), math.Log(s.power[i+1])
	if bend := a - 2*b + c; bend < 0 {
		return max(-0.5, min(0.5, (a-c)/(2*bend)))
	}
	return 0
}

// powerAt is the highest power now where a line was.
func (s *seriesSpectrum) powerAt(t *Series, l line) float64 {
	s.transform(t, l.domain)
	i := int(l.rate/l.width + 0.5)
	return slices.Max(s.power[max(0, i-lineReach):min(len(s.power), i+lineReach+1)])
}

// transform works out the powers, of samples put on an even grid.
func (s *seriesSpectrum) transform(t *Series, domain int) {
	s.lay(t, domain)
	for i := range s.grid {
		s.grid[i] *= s.window[i]
	}
	s.bins = s.fft.Coefficients(s.bins, s.grid)
	powers(s.power, s.bins)
	sum := 0.0
	for i, p := range s.power {
		sum += p
		s.sums[i+1] = sum
	}
}

// lay puts the samples on the grid; those that are no noise as far as noise goes.
func (s *seriesSpectrum) lay(t *Series, domain int) {
	if s.fft == nil {
		s.begin()
	}
	clear(s.grid)
	origin, scale, limit := t.origin(domain), gridCells/t.length(domain), trimmedAt*t.scale()
	for i := range t.pieces[:t.placed] {
		p := &t.pieces[i]
		at := p.own().at[domain]
		x, step := (at.from-origin)*scale, at.step*scale
		for _, v := range t.left[p.first:p.end] {
			s.grid[max(0, min(gridCells-1, int(x)))] += max(-limit, min(limit, float64(v)))
			x += step
		}
	}
}

// begin makes the memory, once.
func (s *seriesSpectrum) begin() {
	s.fft, s.grid, s.window = fourier.NewFFT(gridCells), make([]float64, gridCells), make([]float64, gridCells)
	s.bins, s.power, s.sums = make([]complex128, gridCells/2+1), make([]float64, gridCells/2), make([]float64, gridCells/2+1)
	for i := range s.window {
		s.window[i] = 1 - math.Cos(2*math.Pi*(float64(i)+0.5)/gridCells)
	}
}
