package teeth

import "math"

// mark is a pulse measured.
type mark struct {
	at      float64 // position of the fall through the rest level
	balance float64 // position where the pulse's two halves balance; see balance
	width   float64 // samples, as in pulse
	own     float64
	flux    float64
	restV   float64
	peakV   float64 // from the rest level; NaN where it cannot be told
	troughV float64 // depth of the half-wave behind, roughly; 0 where not measured
	clipped bool
	clean   bool // hardly any noise at the fall
	isNew   bool
}

// surveyor measures pulses. It carries what it learns from one to the next:
// the rest level and where within a pulse the peak is.
type surveyor struct {
	restV   float64
	last    float64 // position of the last mark
	turn    int     // teeth in a turn of the wheel; 0 as long as it is not known
	misfit  float64 // of the last fit about a fall, volts
	passed  [restMost]waypoint
	have    int
	regular vertex // of teeth with another one pitch before
	after   vertex // of teeth after a gap
	recent  [8]float64
	n       int
	x, y    []float64
	evenly  bool // points are cells
}

// waypoint is the running sum of the wave at a mark.
type waypoint struct{ at, area float64 }

// vertex is the place of the peak before the fall, in parts of what the pulse
// is measured by.
type vertex struct {
	place float64
	n     float64
}

func (v *vertex) learn(place float64) {
	v.n = min(v.n+1, 20)
	v.place += (place - v.place) / v.n
}

const (
	restMost       = 1024 // marks that the rest level can be averaged over
	restUsual      = 40   // and the number where the turn is not known
	fallReach      = 0.3  // widths on either side of the fall that are fitted
	peakReach      = 0.28 // and of the peak
	fewestInCells  = 8    // samples from which a fit is made of cells
	cells          = 12   // means that a fit is made from where samples abound
	fewestPerPeak  = 6    // samples in a pitch for a peak
	coarsePerPitch = 20   // samples in a pitch for a good one
)

// measure turns a pulse into a mark.
func (s *surveyor) measure(w *window, p pulse) mark {
	interval := p.at - s.last
	if p.isNew {
		interval = 0
	}
	m := mark{width: p.width, own: p.own, flux: p.flux, isNew: p.isNew, peakV: math.NaN()}
	s.followRest(w.base)
	m.restV = s.restV
	m.at = s.fall(w, p)
	m.balance = s.balance(w, m)
	m.clean = s.misfit < noNoise*p.flux/(1.4*p.width)
	s.last = m.at
	s.pass(w, m.at)
	if pitch := p.width * pitchPerWidth; pitch >= fewestPerPeak {
		if interval > 0.6*pitch && interval < 1.6*pitch {
			m.peakV, m.clipped = s.peak(w, m, interval, &s.regular)
		} else {
			m.peakV, m.clipped = s.peak(w, m, pitch, &s.after)
		}
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

// followRest takes the rest level from the last whole turn, or from some teeth
// where the turn is not known: between the same points of the wheel the flux
// does not change, so the voltage has no mean.
func (s *surveyor) followRest(base float64) {
	back := restUsual
	if s.turn > 0 && s.turn < restMost {
		back = max(1, restUsual/s.turn) * s.turn
	}
	if back = min(back, s.have-1); s.turn > 0 && back > s.turn {
		back -= back % s.turn
	}
	if back < 1 || back < min(4, s.turn) {
		return
	}
	now, then := s.passed[(s.have-1)%restMost], s.passed[(s.have-1-back)%restMost]
	if now.at > then.at {
		s.restV = (now.area-then.area)/(now.at-then.at) + base
	}
}

// pass notes the running sum at a mark.
func (s *surveyor) pass(w *window, at float64) {
	if w.holds(at-1, at+1) {
		s.passed[s.have%restMost] = waypoint{at, w.area(at)}
		s.have++
	}
}

// fit fits the points gathered.
func (s *surveyor) fit(order int) (polynomial, bool) {
	if s.evenly {
		return fitEven(s.y, order), true
	}
	return fitPolynomial(s.x, s.y, order)
}

// points gathers means of the wave about a position, x in units of the reach,
// y in volts from rest: single samples, or cells of several where there are
// many.
func (s *surveyor) points(w *window, at, reach float64) int {
	s.x, s.y = s.x[:0], s.y[:0]
	s.evenly = 2*reach >= fewestInCells
	if s.evenly {
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

// fall is where the wave falls through the rest level near the pulse. Noise
// asks for a long reach and a stiff polynomial, structure for a short reach and
// one that bends; which of the two it is shows in how the misfit changes.
func (s *surveyor) fall(w *window, p pulse) float64 {
	at := p.at
	amplitude := p.flux / (1.4 * p.width)
	reach := max(fallReach*p.width, 2)
	misfit := math.Inf(1)
	for range 3 {
		n := s.points(w, at, reach)
		fit, m, ok := s.fallFit(n, amplitude)
		if !ok {
			return at
		}
		misfit = m
		x, ok := fit.fall()
		if !ok {
			// The fall is beyond the reach: go where the wave is headed.
			x = 0.8
			if fit.at(0) < 0 {
				x = -0.8
			}
		}
		at += x * reach
		if ok && math.Abs(x) < 0.05 {
			break
		}
	}
	s.misfit = misfit
	at = s.refine(w, at, 0.4*reach, misfit, amplitude)
	if math.Abs(at-p.at) > 0.7*p.width {
		return p.at
	}
	return at
}

// balance is where the finder's filter has its maximum: where twice the wave is
// what it is one width before and one width behind together. It rests on the
// steep flanks of both lobes and not on the fall alone, which may be flat; so
// noise moves it least, and the rest level not at all. It need not be the fall,
// but lies as far from it in every tooth.
func (s *surveyor) balance(w *window, m mark) float64 {
	reach := max(fallReach*m.width, 2)
	if !w.holds(m.at-m.width-reach-2, m.at+m.width+reach+2) {
		return m.at
	}
	var y [cells]float64
	size := 2 * reach / cells
	halves := func(at float64) float64 {
		return 2*w.area(at) - w.area(at-m.width) - w.area(at+m.width)
	}
	before := halves(m.at - reach)
	for i := range y {
		to := halves(m.at - reach + float64(i+1)*size)
		y[i] = (to - before) / size
		before = to
	}
	if root, ok := fitEven(y[:], 3).fall(); ok {
		return m.at + root*reach
	}
	return m.at
}

// cleanShare is the misfit, as a share of the tooth's amplitude, up to which a
// wave is clean.
const (
	cleanShare = 0.01
	noNoise    = 0.0015 // the same up to which its noise does not move the fall
)

// refine looks again with a short reach, and takes what it finds where the
// misfit falls as that of a structure does and noise's does not.
func (s *surveyor) refine(w *window, at, reach, misfit, amplitude float64) float64 {
	n := s.points(w, at, reach)
	if n < 7 {
		return at
	}
	fit, ok := s.fit(min(5, n-3))
	if !ok {
		return at
	}
	if misfit > 0.2*cleanShare*amplitude && fit.misfit(s.x, s.y, 6) > 0.4*misfit {
		return at
	}
	if x, ok := fit.fall(); ok {
		return at + x*reach
	}
	return at
}

// fallFit fits the points with a polynomial that can bend with a clean wave, or
// a stiffer one. Its misfit is that of the first.
func (s *surveyor) fallFit(n int, amplitude float64) (p polynomial, misfit float64, ok bool) {
	p, ok = s.fit(max(1, min(5, n-3)))
	if !ok || n < 7 {
		return p, 0, ok
	}
	if misfit = p.misfit(s.x, s.y, 6); misfit > cleanShare*amplitude {
		p, ok = s.fit(3)
	}
	return p, misfit, ok
}

// peak is the height of the tooth's half-wave. The place of its vertex is a
// mean over many teeth, in parts of unit, and the height a linear function of
// the samples about it, so noise neither raises nor lowers it on the average.
func (s *surveyor) peak(w *window, m mark, unit float64, v *vertex) (peakV float64, clipped bool) {
	reach := max(peakReach*m.width, 1.6)
	if !w.holds(m.at-2.2*m.width, m.at) {
		return math.NaN(), false
	}
	own := s.vertexBefore(w, m, reach)
	v.learn(own / unit)
	at := m.at - v.place*unit
	if s.misfit < cleanShare*m.flux/(1.4*m.width) {
		at = m.at - own
	}
	n := s.points(w, at, reach)
	fit, ok := s.fit(max(2, min(4, n-3)))
	if !ok {
		return math.NaN(), false
	}
	height := fit.c[0]
	if s.evenly {
		// A cell's mean is low by a third of its half-width squared times the
		// bend: undo it.
		height -= fit.c[2] / (3 * cells * cells)
	}
	return height, w.flatTop(at, m.width)
}

// vertexBefore is how far before its fall this tooth's vertex is.
func (s *surveyor) vertexBefore(w *window, m mark, reach float64) float64 {
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
	fit, ok := s.fit(2)
	if ok && fit.c[2] < 0 {
		bestAt -= max(-0.5, min(0.5, -fit.c[1]/(2*fit.c[2]))) * reach
	}
	return bestAt
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
	return n >= 2 && n > 2*beneath && float64(n) > 0.15*width
}

// begin starts anew at a rest level.
func (s *surveyor) begin(restV, at float64) {
	s.restV, s.last, s.have, s.n = restV, at, 0, 0
	s.recent = [8]float64{}
}
