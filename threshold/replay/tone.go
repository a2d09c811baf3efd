package replay

import (
	"math"

	"gonum.org/v1/gonum/dsp/fourier"
)

// tones looks, in turns with false events or teeth that something lowered, for a steady
// tone in what the turns before do not have.
type tones struct {
	lines []line
	fft   spectrum
	each  int // turns looked at, one in so many
	skip  int
	dirty bool // the turn under way has one of these
}

// line is the strongest tone of one turn.
type line struct {
	at         float64 // position
	rpm        float64
	hz         float64 // strongest in time
	order      float64 // strongest by angle, cycles per turn of the wheel
	inTime     float64 // shares of the power that the two hold
	byAngle    float64
	amplitudeV float64
	restV      float64 // standard deviation of what is left without it
}

const (
	mostLines   = 32
	leastGrid   = 256
	largestGrid = 1 << 12
)

// tooth takes note of the next tooth, and looks at the turn that it ends.
func (s *tones) tooth(p *past, t *passed, unwanted bool, stepS float64) {
	s.dirty = s.dirty || unwanted
	if t.number != 1 {
		return
	}
	if s.dirty {
		s.each = max(s.each, 1)
		if s.skip++; s.skip >= s.each {
			s.skip = 0
			s.look(p, stepS)
		}
	}
	s.dirty = false
}

func (s *tones) look(p *past, stepS float64) {
	last := len(p.teeth) - 2 // the newest is the one after the tooth that is settled
	first := last - p.turn
	if first < 0 || p.teeth[last].number != 1 || p.teeth[first].number != 1 {
		return
	}
	l, ok := s.fft.line(p, first, last, stepS)
	if !ok {
		return
	}
	s.lines = append(s.lines, l)
	if len(s.lines) == mostLines {
		for i := range mostLines / 2 {
			s.lines[i] = s.lines[2*i+1]
		}
		s.lines = s.lines[:mostLines/2]
		s.each *= 2
	}
}

// line is the strongest tone between two teeth, a turn apart.
func (s *spectrum) line(p *past, first, last int, stepS float64) (line, bool) {
	from, to := p.teeth[first].at, p.teeth[last].at
	grid := leastGrid
	for grid < int(to-from) && grid < largestGrid {
		grid *= 2
	}
	inTime, byAngle := make([]float64, grid), make([]float64, grid)
	k := first
	for i := range grid {
		x := from + (to-from)*float64(i)/float64(grid)
		for k+1 < last && p.teeth[k+1].at <= x {
			k++
		}
		var ok bool
		if inTime[i], ok = p.unlike(x, k); !ok {
			return line{}, false
		}
	}
	intervals := p.parts(first, last)
	k = 0
	for i := range grid {
		turn := float64(i) / float64(grid)
		for k+2 < len(intervals) && intervals[k+1] <= turn {
			k++
		}
		a, b := p.teeth[first+k].at, p.teeth[first+k+1].at
		x := a + (b-a)*(turn-intervals[k])/(intervals[k+1]-intervals[k])
		byAngle[i], _ = p.unlike(x, first+k)
	}
	l := line{at: to, rpm: p.teeth[last].rpm}
	var cycles, power, angleV float64
	cycles, l.inTime, power = s.strongest(inTime)
	l.hz = cycles / ((to - from) * stepS)
	l.amplitudeV = math.Sqrt(2 * power * l.inTime)
	l.order, l.byAngle, angleV = s.strongest(byAngle)
	if l.byAngle > l.inTime {
		l.amplitudeV = math.Sqrt(2 * angleV * l.byAngle)
	}
	l.restV = math.Sqrt(power * (1 - max(l.inTime, l.byAngle)))
	return l, true
}

// parts are the places of the teeth of a turn in parts of it, as the mean of
// the turns kept has them.
func (p *past) parts(first, last int) []float64 {
	sum := make([]float64, last-first+1)
	for turns := 0; turns <= pastTurns; turns++ {
		a := first - turns*p.turn
		if a < 0 {
			break
		}
		length := p.teeth[a+p.turn].at - p.teeth[a].at
		for k := range sum {
			sum[k] += (p.teeth[a+k].at - p.teeth[a].at) / length
		}
	}
	whole := sum[len(sum)-1]
	for k := range sum {
		sum[k] /= whole
	}
	return sum
}

// unlike is what the wave has at a position that it has not, on average, at the
// same place of the turns before, volts.
func (p *past) unlike(x float64, tooth int) (float64, bool) {
	v, ok := p.at(x)
	if !ok {
		return 0, false
	}
	a, b := p.teeth[tooth], p.teeth[tooth+1]
	part := (x - a.at) / (b.at - a.at)
	sum, n := 0.0, 0.0
	for turns := 1; turns <= pastTurns; turns++ {
		then, ok := p.turnsAgo(tooth, part, turns)
		if !ok {
			break
		}
		past, ok := p.at(then)
		if !ok {
			break
		}
		scale := 1.0
		if rpm := p.teeth[tooth-turns*p.turn].rpm; rpm > 0 && a.rpm > 0 {
			scale = a.rpm / rpm
		}
		sum += past * scale
		n++
	}
	if n < 2 {
		return 0, false
	}
	return v - sum/n, true
}

// spectrum transforms stretches of one length after the other.
type spectrum struct {
	fft     *fourier.FFT
	window  []float64
	weights float64 // sum of its squares
	out     []complex128
	powers  []float64
}

func (s *spectrum) begin(n int) {
	if len(s.window) == n {
		return
	}
	*s = spectrum{fft: fourier.NewFFT(n), window: make([]float64, n), out: make([]complex128, n/2+1), powers: make([]float64, n/2+1)}
	for i := range s.window {
		s.window[i] = 1 - math.Cos(2*math.Pi*(float64(i)+0.5)/float64(n))
		s.weights += s.window[i] * s.window[i]
	}
}

// strongest is the strongest line of a stretch: its cycles, the share of the
// power about it, and the mean power. The stretch is lost.
func (s *spectrum) strongest(x []float64) (cycles, share, power float64) {
	n := len(x)
	s.begin(n)
	for i := range x {
		x[i] *= s.window[i]
	}
	s.fft.Coefficients(s.out, x)
	total, top := 0.0, 2
	for i, c := range s.out {
		s.powers[i] = real(c)*real(c) + imag(c)*imag(c)
		total += s.powers[i]
		if i >= 2 && i < len(s.out)-2 && s.powers[i] > s.powers[top] {
			top = i
		}
	}
	if !(total > 0) {
		return 0, 0, 0
	}
	about, moment := 0.0, 0.0
	for i := top - 2; i <= top+2; i++ {
		about += s.powers[i]
		moment += s.powers[i] * float64(i)
	}
	return moment / about, about / total, 2 * total / s.weights / float64(n)
}
