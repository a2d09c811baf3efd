package teeth

import "math"

// stretch is an interval of the wave from one tooth to the next.
type stretch struct {
	at   [4]float64 // positions of the tooth before, its two teeth, and the one behind
	gain [2]float64 // sizes of its own teeth's lobes, relative
}

// timeAt is the position at a part of the interval, by a cubic through its teeth
// with slopes from their neighbours.
func (s *stretch) timeAt(part float64) float64 {
	t0, t1 := s.at[1], s.at[2]
	m0, m1 := (t1-s.at[0])/2, (s.at[3]-t0)/2
	d := t1 - t0
	return t0 + part*(m0+part*((3*d-2*m0-m1)+part*(m0+m1-2*d)))
}

// neighbours compare an interval of the wave with two others of the same shape.
type neighbours struct {
	own, before, behind stretch
	restV               float64
}

// segments are the pieces in which the angle within a pitch is linear in time.
const segments = 4

// compare adds to what was heard the interval's samples less the mean of what the
// others have at the same angle, scaled by their speeds and their teeth.
func (b *neighbours) compare(w *window, heard *sound) {
	from, before, behind := b.own.at[1], b.before.at[1], b.behind.at[1]
	for s := range heard {
		part := float64(s+1) / segments
		to, beforeTo, behindTo := b.own.timeAt(part), b.before.timeAt(part), b.behind.timeAt(part)
		if !(to > from) {
			return
		}
		perSample := 1 / (to - from)
		slopeBefore, slopeBehind := (beforeTo-before)*perSample, (behindTo-behind)*perSample
		end := s / (segments / 2)
		g := 0.5 * b.own.gain[end]
		b.segment(w, &heard[s], from, to,
			mapping{before, slopeBefore, slopeBefore * g / b.before.gain[end]},
			mapping{behind, slopeBehind, slopeBehind * g / b.behind.gain[end]})
		from, before, behind = to, beforeTo, behindTo
	}
}

// mapping maps a segment to one of another interval: its position, samples of it
// per sample, and the weight.
type mapping struct{ at, step, weight float64 }

func (b *neighbours) segment(w *window, r *residue, from, to float64, p, q mapping) {
	first := float64(w.first)
	i := int(math.Ceil(from - first))
	end := int(math.Ceil(to - first))
	if i < 0 || end > len(w.v) {
		return
	}
	shift := float64(i) + first - from
	x, y := p.at+shift*p.step-first, q.at+shift*q.step-first
	last := float64(len(w.v)) - 3
	if !(x >= 2 && y >= 2 && x+float64(end-i)*p.step < last && y+float64(end-i)*q.step < last) {
		return
	}
	level := b.restV * (1 - p.weight - q.weight)
	var left [64]float64
	r.begin()
	for i < end {
		some := left[:min(end-i, len(left))]
		for k, x := range w.v[i : i+len(some)] {
			some[k] = x - level
		}
		x = p.takeFrom(some, w.v, x)
		y = q.takeFrom(some, w.v, y)
		r.add(some)
		i += len(some)
	}
}

// takeFrom takes from samples the wave about x and so on, each a step further,
// and tells where the next would be. The wave is the polynomial through six
// samples, by Everett's formula.
func (p mapping) takeFrom(samples, v []float64, x float64) (next float64) {
	const sixth, twentieth = 1.0 / 6, 1.0 / 20
	for k := range samples {
		i := int(x)
		about := (*[6]float64)(v[i-2:])
		f := x - float64(i)
		g := 1 - f
		bend0, bend1 := about[1]-2*about[2]+about[3], about[2]-2*about[3]+about[4]
		fourth0 := about[0] - 2*about[1] + about[2] - 2*bend0 + bend1
		fourth1 := bend0 - 2*bend1 + about[3] - 2*about[4] + about[5]
		samples[k] -= p.weight * (g*(about[2]+(g*g-1)*sixth*(bend0+(g*g-4)*twentieth*fourth0)) +
			f*(about[3]+(f*f-1)*sixth*(bend1+(f*f-4)*twentieth*fourth1)))
		x += p.step
	}
	return x
}
