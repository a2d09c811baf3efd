package teeth

import "math"

// mark is a pulse measured.
type mark struct {
	at      float64 // position of the fall through the rest level
	width   float64 // samples, as in pulse
	own     float64
	flux    float64
	restV   float64
	peakV   float64 // from the rest level; NaN where it cannot be told
	clipped bool
	isNew   bool
}

// surveyor measures pulses. It carries what it learns from one to the next:
// the rest level and where within a pulse the peak is.
type surveyor struct {
	restV   float64
	last    float64 // position of the last mark
	pitches float64 // over which the rest level is known
	regular vertex  // of teeth with another one pitch before
	after   vertex  // of teeth after a gap
	recent  [8]float64
	n       int
	x, y    []float64
}

// vertex is the place of the peak before the fall, in widths.
type vertex struct {
	place float64
	n     float64
}

func (v *vertex) learn(place float64) {
	v.n = min(v.n+1, 20)
	v.place += (place - v.place) / v.n
}

const (
	restPitches    = 12   // over which the rest level is averaged
	fallReach      = 0.3  // widths on either side of the fall that are fitted
	peakReach      = 0.28 // and of the peak
	cells          = 10   // means that a fit is made from where samples abound
	fewestPerPeak  = 6    // samples in a pitch for a peak
	coarsePerPitch = 20   // samples in a pitch for a good one
)

// measure turns a pulse into a mark.
func (s *surveyor) measure(w *window, p pulse) mark {
	pitch := p.width * pitchPerWidth
	interval := p.at - s.last
	if p.isNew {
		interval = pitch
	}
	m := mark{width: p.width, own: p.own, flux: p.flux, isNew: p.isNew, peakV: math.NaN()}
	s.followRest(w, p, interval/pitch)
	m.restV = s.restV
	m.at = s.fall(w, p)
	s.last = m.at
	if pitch >= fewestPerPeak {
		v := &s.regular
		if interval > 1.5*pitch {
			v = &s.after
		}
		m.peakV, m.clipped = s.peak(w, m, v)
	}
	amplitude := p.flux / (1.4 * p.width)
	s.recent[s.n%len(s.recent)] = amplitude
	s.n++
	highest := 0.0
	for _, a := range s.recent {
		highest = max(highest, a)
	}
	w.rest, w.limit = s.restV, 2.5*highest
	return m
}

// followRest takes the mean over the interval that ends at the pulse into the
// rest level: between like points of two teeth the flux does not change, so
// the voltage has no mean.
func (s *surveyor) followRest(w *window, p pulse, pitches float64) {
	if p.isNew || pitches < 0.5 || !w.holds(s.last, p.at) {
		return
	}
	level := w.mean(s.last, p.at)
	s.pitches = min(s.pitches+pitches, restPitches)
	s.restV += (level - s.restV) * min(1, pitches/s.pitches)
}

// points gathers means of the wave about a position, x in units of the reach,
// y in volts from rest: single samples, or cells of several where there are
// many.
func (s *surveyor) points(w *window, at, reach float64) int {
	s.x, s.y = s.x[:0], s.y[:0]
	if 2*reach >= 2*cells {
		size := 2 * reach / cells
		before := w.area(at - reach)
		for i := range cells {
			area := w.area(at - reach + float64(i+1)*size)
			s.x = append(s.x, (2*float64(i)+1)/cells-1)
			s.y = append(s.y, (area-before)/size+w.base-s.restV)
			before = area
		}
		return cells
	}
	from := max(int(math.Ceil(at-reach))-int(w.first), 0)
	to := min(int(math.Floor(at+reach))-int(w.first), len(w.sum)-2)
	for i := from; i <= to; i++ {
		s.x = append(s.x, (float64(w.first)+float64(i)-at)/reach)
		s.y = append(s.y, w.sum[i+1]-w.sum[i]+w.base-s.restV)
	}
	return len(s.x)
}

// fall is where the wave falls through the rest level near the pulse.
func (s *surveyor) fall(w *window, p pulse) float64 {
	at := p.at
	reach := max(fallReach*p.width, 2)
	for range 3 {
		n := s.points(w, at, reach)
		order := 3
		if n < 6 {
			order = max(1, n-2)
		}
		fit, ok := fitPolynomial(s.x, s.y, order)
		if !ok {
			return at
		}
		x, ok := fit.fall()
		if !ok {
			// The fall is beyond the reach: go where the wave is headed.
			x = 0.8
			if fit.at(0) < 0 {
				x = -0.8
			}
		}
		at += x * reach
		if ok && math.Abs(x) < 0.02 {
			break
		}
	}
	if math.Abs(at-p.at) > 0.7*p.width {
		return p.at
	}
	return at
}

// peak is the height of the tooth's half-wave. The place of its vertex is a
// mean over many teeth, and the height a linear function of the samples about
// it, so noise neither raises nor lowers it on the average.
func (s *surveyor) peak(w *window, m mark, v *vertex) (peakV float64, clipped bool) {
	reach := max(peakReach*m.width, 1.6)
	if !w.holds(m.at-2.2*m.width, m.at) {
		return math.NaN(), false
	}
	v.learn(s.vertexPlace(w, m, reach))
	at := m.at - v.place*m.width
	s.points(w, at, reach)
	fit, ok := fitPolynomial(s.x, s.y, 2)
	if !ok {
		return math.NaN(), false
	}
	height := fit.c[0]
	if len(s.x) == cells && 2*reach >= 2*cells {
		// A cell's mean is low by a twelfth of its half-width squared times
		// the bend: undo it.
		height -= fit.c[2] / (3 * cells * cells)
	}
	return height, w.flatTop(at, m.width)
}

// vertexPlace is the place of this tooth's vertex before its fall, in widths.
func (s *surveyor) vertexPlace(w *window, m mark, reach float64) float64 {
	step := m.width / 12
	best, bestAt := math.Inf(-1), 0.0
	half := max(reach*0.6, 0.75)
	for x := 0.15 * m.width; x < 1.6*m.width; x += step {
		mean := w.mean(m.at-x-half, m.at-x+half)
		if mean > best {
			best, bestAt = mean, x
		}
		if mean < s.restV && best > s.restV {
			break
		}
	}
	s.points(w, m.at-bestAt, reach)
	fit, ok := fitPolynomial(s.x, s.y, 2)
	if ok && fit.c[2] < 0 {
		bestAt -= max(-0.5, min(0.5, -fit.c[1]/(2*fit.c[2]))) * reach
	}
	return bestAt / m.width
}

// flatTop tells that a peak stands at the highest value the instrument gave,
// for longer than a round top of this height would.
func (w *window) flatTop(at, width float64) bool {
	from := max(int(at-0.6*width)-int(w.first), 0)
	to := min(int(at+0.6*width)-int(w.first), len(w.v)-1)
	level := w.top - 1e-6*(w.top-w.bottom)
	n, beneath := 0, 0
	shoulder := w.top - 0.12*(w.top-w.rest)
	for i := from; i <= to; i++ {
		if w.v[i] >= level {
			n++
		} else if w.v[i] >= shoulder {
			beneath++
		}
	}
	return n >= 4 && n > 2*beneath && float64(n) > 0.15*width
}

// begin starts anew at a rest level.
func (s *surveyor) begin(restV, at float64) {
	s.restV, s.last, s.pitches = restV, at, 4
	s.n = 0
	s.recent = [8]float64{}
}
