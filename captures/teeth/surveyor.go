package teeth

import (
	"math"

	"armcurve/captures/teeth/polyfit"
	"armcurve/captures/teeth/pulses"
	"armcurve/captures/teeth/wheels"
)

// surveyor measures pulses. It carries what it learns from one to the next:
// the rest level and where within a pulse the peak is.
type surveyor struct {
	restV   float64
	last    float64 // balance of the last mark
	before  float64 // interval before it, if a regular one; 0 otherwise
	spread  float64 // a pitch in widths of a pulse, as learnt from teeth side by side
	alike   int     // intervals like the one before, of those that are no pitch
	uneven  bool    // the wheel has teeth at uneven angles
	turn    int     // teeth in a turn of the wheel; 0 as long as it is not known
	misfit  float64 // of the last fit about a fall, volts
	noiseV  float64 // its mean of late
	cut     int     // teeth of late that are cut off unlike above and below
	rests   rests
	steadyV float64 // mean of the rest level over many teeth
	settled float64 // their number
	regular vertex  // of teeth with another one pitch before
	after   vertex  // of teeth after a gap
	recent  [8]float64
	n       int
	lead    float64 // how far falls lie behind the pulses' places, in widths
	points  points
}

// spaceReach is how far on either side of a fall the deepest of the space is looked
// for, in widths: the next tooth is farther.
const spaceReach = 1.6

// toothFlux is by how much the flux at a fall exceeds that in the space before and in
// the one behind. There the flux hardly changes, so that whole samples will do.
func (w *window) toothFlux(at, width float64) (before, behind float64) {
	const steps = 12
	x := at - float64(w.first) + 0.5 // among the sums
	from, reach := int(x+0.5), int(spaceReach*width)
	step := max(1, reach/steps)
	top, level := w.area(at), w.rest-w.base
	for i := step; i <= reach; i += step {
		if j := from - i; j >= 0 {
			if flux := top - w.sum[j] - level*(x-float64(j)); flux > before {
				before = flux
			}
		}
		if j := from + i; j < len(w.sum) {
			if flux := top - w.sum[j] + level*(float64(j)-x); flux > behind {
				behind = flux
			}
		}
	}
	return before, behind
}

const (
	fallReach      = 0.3  // widths on either side of the fall that are fitted
	peakReach      = 0.28 // and of the peak
	fewestReach    = 1.6  // samples
	pitchMost      = 1.6  // times a pitch by the width of a pulse
	farApart       = 1.6  // times a pitch for its width, where teeth are narrow
	alikeTeeth     = 4    // intervals that show narrow teeth far apart: gaps stand less close
	sameWidth      = 1.12 // times a pulse's own width that the one followed may be, to tell a pitch
	fewestPerPeak  = 6    // samples in a pitch for a peak
	coarsePerPitch = 20   // samples in a pitch for a good one
)

// measure turns a pulse into a mark.
func (s *surveyor) measure(w *window, p pulse) pulses.Mark {
	m := pulses.Mark{Width: p.width, Own: p.own, Flux: p.flux, Swing: p.swing, IsNew: p.isNew, PeakV: math.NaN(), Step: math.NaN()}
	s.followRest(w.base)
	m.RestV = s.restV
	m.At = s.fall(w, p)
	m.Clean = s.misfit < noNoise*p.flux/(1.4*p.width)
	if m.Noise = 1; fewestPoints <= 2*fallReach*p.width {
		s.noiseV += 0.05 * (s.misfit - s.noiseV)
		m.Noise = min(1, s.misfit*1.4*p.width/p.flux)
	}
	m.Balance = s.points.balance(w, m.At, m.Width)
	m.Top = m.At - wheels.PitchPerWidth/4*m.Width
	interval := m.Balance - s.last
	if p.isNew {
		interval = 0
	} else {
		m.FarV = w.farthest(s.last, m.Balance)
		if beside := spaceReach * m.Width; interval > 2*beside {
			m.AmidV = w.farthest(s.last+beside, m.Balance-beside)
		}
	}
	s.last = m.Balance
	s.pass(w, &m)
	if p.width*wheels.PitchPerWidth >= fewestPerPeak {
		s.measurePeak(w, &m, interval)
	}
	amplitude := p.flux / (1.4 * p.width)
	if isCut := s.followCut(w, &m); isCut || m.Clipped || w.flatAt(m.At+m.Width/2, m.Width, w.bottom, s.noiseV) {
		// What is cut off leaves the wave a mean: the rest level found before holds.
		s.restV = s.steady(s.restV, amplitude)
		s.rests.begin(true)
	}
	s.recent[s.n%len(s.recent)] = amplitude
	s.n++
	highest := uint64(0) // of positive values, which are in the order of their bits
	for _, a := range s.recent {
		highest = max(highest, math.Float64bits(a))
	}
	w.rest, w.limit = s.restV, 2.5*math.Float64frombits(highest)
	return m
}

// measurePeak measures a mark's peak, by its distance from the tooth before where
// there is one a pitch before, and by what the pulse's width says of a pitch where
// there is not.
func (s *surveyor) measurePeak(w *window, m *pulses.Mark, interval float64) {
	if s.uneven || !s.isPitch(interval, m) {
		after := &s.after
		if s.n < settledIn {
			after = new(vertex) // the width is not yet that of the pulses
		}
		s.peak(w, m, m.Width*wheels.PitchPerWidth, after)
		if s.alike++; !within(interval, s.before, 1.4) {
			s.alike = 0
		} else if s.alike >= alikeTeeth {
			s.spread = interval / m.Width // narrow teeth far apart
		}
		s.before = interval
		return
	}
	unit := s.unit(interval)
	if s.spread > farApart*wheels.PitchPerWidth {
		unit = m.Own * s.spread // the speed at the tooth, not that between teeth
	}
	s.peak(w, m, unit, &s.regular)
	s.before, s.alike = interval, 0
	s.spread += 0.02 * (interval/m.Width - s.spread)
}

// isPitch tells that the interval before a mark is a single pitch, by the width that is
// followed and by its own: over a gap in which the wheel speeds up, the former stays
// behind, and a gap would look like a pitch as long as those before.
func (s *surveyor) isPitch(interval float64, m *pulses.Mark) bool {
	return within(interval, m.Width*s.spread, pitchMost) && interval < pitchMost*m.Own*s.spread
}

// farthest is how far from rest any sample between two positions is.
func (w *window) farthest(from, to float64) float64 {
	rest, most := w.rest, uint64(0)
	for _, x := range w.between(from, to) {
		// Sizes are in the order of their bits, and whole numbers quicker compared.
		most = max(most, math.Float64bits(math.Abs(x-rest)))
	}
	return math.Float64frombits(most)
}

// span is by how much the samples between two positions differ.
func (w *window) span(from, to float64) float64 {
	low, high := math.Inf(1), math.Inf(-1)
	for _, x := range w.between(from, to) {
		low, high = min(low, x), max(high, x)
	}
	return max(high-low, 0)
}

// between are the samples between two positions, as far as they are held.
func (w *window) between(from, to float64) []float64 {
	i := min(max(0, int(from)-int(w.first)), len(w.v))
	return w.v[i:max(i, min(len(w.v), int(to)-int(w.first)))]
}

// unit is the length of a pitch at the speed midway between the peak and the
// fall that ends an interval, by that of the interval before.
func (s *surveyor) unit(interval float64) float64 {
	if q := interval / s.before; q > 0.6 && q < 1.6 {
		return interval / (1 + 0.3*(1-q))
	}
	return interval
}

// followRest takes the rest level of late, if there is one.
func (s *surveyor) followRest(base float64) {
	if levelV, ok := s.rests.level(s.turn); ok {
		s.restV = levelV + base
		s.settled = min(s.settled+1, steadyMost)
		s.steadyV += (s.restV - s.steadyV) / s.settled
	}
}

// steadyMost is the number of teeth that a rest level is averaged over which has to
// hold for a while.
const steadyMost = 200

// steady is the rest level to go on from where the wave does not show it: the one that
// held for long, if the wave shows about that.
func (s *surveyor) steady(aboutV, amplitude float64) float64 {
	const about = 0.1
	if s.settled >= restUsual && math.Abs(aboutV-s.steadyV) < about*amplitude {
		return s.steadyV
	}
	return aboutV
}

// pass notes the running sum at a mark, unless the wave may begin amid its tooth, at its
// beginning or behind a hole.
func (s *surveyor) pass(w *window, m *pulses.Mark) {
	isCut := m.IsNew && s.settled > 0 || m.At <= spaceReach*m.Width
	if !isCut && w.holds(m.At-1, m.At+1) {
		before, behind := w.toothFlux(m.At, m.Width)
		m.Step = behind - before
		// Above the space that is less deep: a gap is deeper.
		s.rests.pass(w, m.At, w.area(m.At)-min(before, behind), m.Flux/(1.4*m.Width), s.turn)
	}
}

// points are evenly spaced means of the wave about a position, volts from rest:
// single samples, or cells of several where there are many.
type points struct {
	polyfit.Fit
	centre float64 // position of their middle
	half   float64 // half of what they cover, samples
	cell   int     // samples in each
}

// about gathers points of the wave within reach of a position and fits them;
// false where the wave is not there.
func (f *points) about(w *window, restV, at, reach float64, order int) bool {
	span := 2 * reach
	q := max(1, int(math.Ceil(span/polyfit.MostPoints)))
	n := max(2, min(polyfit.MostPoints, int(span/float64(q)+0.5)))
	length := n * q
	from := int(math.Round(at - float64(w.first) - float64(length-1)/2))
	if from < 0 || from+length > len(w.sum)-1 {
		return false
	}
	f.centre = float64(w.first) + float64(from) + float64(length-1)/2
	f.half, f.cell = float64(length)/2, q
	var values [polyfit.MostPoints]float64
	s := w.sum[from : from+length+1]
	level, scale := w.base-restV, 1/float64(q)
	before := s[0]
	for i := range n {
		to := s[(i+1)*q]
		values[i&(polyfit.MostPoints-1)] = (to-before)*scale + level
		before = to
	}
	f.Even(values[:n], order)
	return true
}

// position turns a place among the points into one in the wave, and back.
func (f *points) position(x float64) float64 { return f.centre + x*f.half }
func (f *points) place(at float64) float64   { return (at - f.centre) / f.half }

// order is the highest order that leaves three points to tell its misfit, from
// a least one on.
func (f *points) order(least int) int { return max(least, min(polyfit.MaxOrder, f.Count()-3)) }

// fall is where the wave falls through the rest level near the pulse. Noise
// asks for a long reach and a stiff polynomial, structure for a short reach and
// one that bends; which of the two it is shows in how the misfit changes.
func (s *surveyor) fall(w *window, p pulse) float64 {
	at := p.at + s.lead*p.width
	amplitude := p.flux / (1.4 * p.width)
	reach := max(fallReach*p.width, 2)
	f := &s.points
	for range 3 {
		if !f.about(w, s.restV, at, reach, polyfit.MaxOrder) {
			return p.at
		}
		order := f.order(1)
		s.misfit = f.Misfit(order)
		if f.Count() < 7 {
			s.misfit = 0
		} else if s.misfit > cleanShare*amplitude {
			order = 3
		}
		bent := f.Polynomial(order)
		x, ok := bent.Fall()
		if !ok {
			// The fall is beyond the reach: go where the wave is headed.
			x = 0.8
			if bent.At(0) < 0 {
				x = -0.8
			}
		}
		at = f.position(x)
		if ok && math.Abs(x) < 0.3 {
			break
		}
	}
	if s.misfit > muchCleaner*amplitude {
		at = s.refine(w, at, 0.4*reach, amplitude)
	}
	if math.Abs(at-p.at) > 0.7*p.width {
		return p.at
	}
	s.lead += 0.1 * (max(-0.5, min(0.5, (at-p.at)/p.width)) - s.lead)
	return at
}

// Misfits as shares of a tooth's amplitude.
const (
	cleanShare  = 0.01   // up to which a wave is clean
	noNoise     = 0.0015 // up to which its noise does not move the fall
	muchCleaner = 2e-5   // up to which a fit is as good as any
)

// fewestPoints are those about a fall that tell a misfit: samples, where they are few.
const fewestPoints = 6.5

// refine looks again with a short reach, and takes what it finds where the
// misfit falls as that of a structure does and noise's does not.
func (s *surveyor) refine(w *window, at, reach, amplitude float64) float64 {
	f := &s.points
	if 2*reach < fewestPoints || !f.about(w, s.restV, at, reach, polyfit.MaxOrder) {
		return at
	}
	order := f.order(1)
	if s.misfit > 0.2*cleanShare*amplitude && f.Misfit(order) > 0.4*s.misfit {
		return at
	}
	bent := f.Polynomial(order)
	if x, ok := bent.Fall(); ok {
		return f.position(x)
	}
	return at
}

// balance is where the finder's filter has its maximum: where twice the wave is
// what it is one width before and one width behind together. It rests on the
// steep flanks of both lobes and not on the fall alone, which may be flat; so
// noise moves it least, and the rest level not at all. It need not be the fall,
// but lies as far from it in every tooth.
func (f *points) balance(w *window, at, width float64) float64 {
	reach := max(fallReach*width, 2)
	q := max(1, int(math.Ceil(2*reach/polyfit.MostPoints)))
	n := min(polyfit.MostPoints, int(2*reach/float64(q)+0.5))
	whole, part := int(width), width-math.Floor(width)
	from := int(math.Round(at - float64(w.first) - float64(n*q-1)/2))
	if from < whole+1 || from+n*q+whole+1 >= len(w.sum) {
		return at
	}
	before, at0, behind := w.sum[from-whole-1:], w.sum[from:], w.sum[from+whole:]
	halves := func(i int) float64 {
		b, c := before[i+1], behind[i]
		return 2*at0[i] - b + part*(b-before[i]) - c - part*(behind[i+1]-c)
	}
	var values [polyfit.MostPoints]float64
	sum := halves(0)
	for i := range n {
		to := halves((i + 1) * q)
		values[i] = to - sum
		sum = to
	}
	f.Even(values[:n], 3)
	f.centre = float64(w.first) + float64(from) + float64(n*q-1)/2
	f.half = float64(n*q) / 2
	bent := f.Polynomial(3)
	if x, ok := bent.Fall(); ok {
		return f.position(x)
	}
	return at
}

// peak measures the height of the tooth's half-wave, by the places, in parts of unit, that
// the vertices of many teeth had: so noise neither raises nor lowers it on the average.
func (s *surveyor) peak(w *window, m *pulses.Mark, unit float64, v *vertex) {
	reach := max(peakReach*m.Width, fewestReach)
	f := &s.points
	isKnown := v.n >= vertexFrom && (v == &s.regular || within(m.Own, m.Width, sameWidth))
	if !isKnown || !f.about(w, s.restV, m.Balance-v.place*unit, reach, 4) || !f.vertexNear() {
		around := s.vertexAround(w, *m, reach)
		if !f.about(w, s.restV, m.At-around, reach, 4) {
			return
		}
		if !isKnown {
			reach = s.nearer(w, m, reach, around)
		}
	}
	amplitude := m.Flux / (1.4 * m.Width)
	own := m.Balance - f.position(f.vertex())
	if m.Balance-own < reach {
		m.Marred = true // the wave begins so near to its top, or behind it
		return
	}
	if isKnown || v.n < vertexFrom {
		v.learn(own / unit)
	}
	v.learnNoise(f, unit, s.noiseV, amplitude)
	isOwn := !isKnown || v.isSharp()
	off, held, lean := v.place-own/unit, 0.0, 0.0
	if !isOwn {
		held, lean = v.held(off), v.lean
	}
	at := m.Balance - own - (held*off-lean)*unit
	x := f.place(at)
	if math.Abs(x) > 0.5 && f.about(w, s.restV, at, reach, 4) {
		x = f.place(at)
	}
	isClean := s.misfit < cleanShare*amplitude
	spare := 3 // points, to smoothen the others
	if isClean && v.isCalm() {
		spare = 2
	}
	order := max(2, min(4, f.Count()-spare))
	bent := f.Polynomial(order)
	ahead := bent.Top(x)
	if isKnown {
		v.learnLean(lean + ahead*f.half/unit)
	}
	if isOwn {
		x += ahead
	} else {
		m.Curve = pulses.NewPeakCurve(&bent, x, unit/f.half, unit, held)
		if v == &s.regular {
			m.Curve.Lever = float32(v.place - v.lean)
		}
	}
	m.Marred = v.isMarred(f.Misfit(order) / amplitude)
	m.PeakV = f.height(x, order)
	m.Top = f.position(x)
	m.Clipped = w.flatAt(at, m.Width, w.top, s.noiseV)
	if l := &v.bias; isClean && !m.Marred && !m.Clipped && l[0].wants(s.n) {
		s.learnBias(w, m, reach, l)
	}
	bias := v.bias.told()
	if v.bias[0].n < biasMany {
		bias = s.regular.bias.told() // of lobes much like those after a gap
	}
	m.PeakV *= 1 + bias
	m.Curve.Scale(1 + bias)
}

// nearer looks again at a peak that lies some samples before the fall, no farther about
// it than half of that, as is usual of a sine: a lobe with long flanks is much narrower
// on top than the pulse's width tells. Where less is left of it then it was no noise,
// and the peak is better seen so.
func (s *surveyor) nearer(w *window, m *pulses.Mark, reach, around float64) float64 {
	f := &s.points
	narrow := max(min(reach, around/2), fewestReach)
	left := f.noise(4)
	if f.about(w, s.restV, m.At-s.vertexAround(w, *m, narrow), narrow, 4) && f.noise(4) < quieter*left {
		return narrow
	}
	f.about(w, s.restV, m.At-around, reach, 4)
	return reach
}

// quieter is how much less that has to be.
const quieter = 0.8

// noise is what the fit of an order leaves of single samples, if that is noise.
func (f *points) noise(order int) float64 { return f.Misfit(order) * math.Sqrt(float64(f.cell)) }

// vertexNear tells that the parabola through the points has its top well amid
// them.
func (f *points) vertexNear() bool {
	slope, bend := f.Parabola()
	return bend < 0 && math.Abs(slope) < -0.6*bend
}

// vertex is the place of the parabola's top, not beyond half of the reach.
func (f *points) vertex() float64 {
	slope, bend := f.Parabola()
	if bend >= 0 {
		return 0
	}
	return max(-0.5, min(0.5, -slope/bend))
}

// vertexAround is roughly how far before its fall this tooth's vertex is.
func (s *surveyor) vertexAround(w *window, m pulses.Mark, reach float64) float64 {
	step := m.Width / 12
	best, bestAt := math.Inf(-1), 0.0
	half := max(reach*0.6, 0.75)
	for x := 0.15 * m.Width; x < 1.6*m.Width; x += step {
		mean := w.mean(m.At-x-half, m.At-x+half)
		if mean > best {
			best, bestAt = mean, x
		}
		if mean < s.restV && best > s.restV {
			break
		}
	}
	if s.points.about(w, s.restV, m.At-bestAt, reach, 2) {
		bestAt = m.At - s.points.position(s.points.vertex())
	}
	return bestAt
}

// shoulderSteps are those of the instrument under a top, in which a round one stands for
// longer than at the last, wherever in that it ends. For a parabola three would do, since
// √(3 + 1) is twice 1; but a lobe's flanks are steeper, and noise lifts samples by a step.
const shoulderSteps = 5

// flatAt tells that a half-wave about a position stands at the highest or the
// lowest value the instrument gave, but for the noise that it adds itself, for
// longer than a round top of this height would.
func (w *window) flatAt(at, width, end, noiseV float64) bool {
	from := max(int(at-0.6*width)-int(w.first), 0)
	to := min(int(at+0.6*width)-int(w.first), len(w.v)-1)
	const most, least = 0.02, 1e-6 // of the height
	height := math.Abs(end - w.rest)
	tiny, shoulder := height*max(least, min(5*noiseV/height, most)), max(0.12*height, shoulderSteps*w.step)
	if i := int(at) - int(w.first); i >= from && i+1 <= to && math.Abs(w.v[i]-end) > tiny && math.Abs(w.v[i+1]-end) > tiny {
		return false // a peak that is cut off is so in its middle
	}
	n, beneath := 0, 0
	for i := from; i <= to; i++ {
		switch d := math.Abs(w.v[i] - end); {
		case d <= tiny:
			n++
		case d <= shoulder:
			beneath++
		}
	}
	return n >= 2 && n > beneath && float64(n) > 0.15*width && (noiseV > 0.02*height || w.isBlunt(at, end, height))
}

// isBlunt tells that a half-wave is wider near its end than any round top: close
// to the top that is a parabola, and of a sine the width at 12 % below the top is
// 0.57 of the width at 35 % below. Steps of the instrument put several samples at
// the end of a round top too, but hardly move these.
func (w *window) isBlunt(at, end, height float64) bool {
	const blunt = 0.62
	return w.widthBelow(at, end, 0.12*height) > blunt*w.widthBelow(at, end, 0.35*height)
}

// widthBelow is for how many samples about a position the wave is within a depth of
// its end.
func (w *window) widthBelow(at, end, depth float64) float64 {
	width := 0.0
	for _, step := range [2]int{-1, 1} {
		i := max(0, min(int(at)-int(w.first), len(w.v)-1))
		before := 0.0
		for ; i >= 0 && i < len(w.v); i += step {
			d := math.Abs(w.v[i] - end)
			if d > depth {
				width += (depth - before) / (d - before)
				break
			}
			width++
			before = d
		}
	}
	return width - 1 // the first was counted on both sides
}

// begin starts anew at a rest level.
func (s *surveyor) begin(restV, at float64) {
	s.restV, s.last, s.before, s.n = restV, at, 0, 0
	s.rests.begin(s.settled > 0 && restV == s.steadyV)
	s.spread = wheels.PitchPerWidth
	s.recent = [8]float64{}
}
