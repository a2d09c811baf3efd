package teeth

import "math"

// stretch is an interval of the wave from one tooth to the next.
type stretch struct {
	at   [4]float64 // positions of the tooth before, its two teeth, and the one behind
	gain [2]float64 // sizes of its own teeth's lobes, relative

	turned, part float64 // turns of the wheel to its first tooth, and in it
}

// timeAt is the position at a part of the interval, by a cubic through its teeth
// with slopes from their neighbours.
func (s *stretch) timeAt(part float64) float64 {
	t0, t1 := s.at[1], s.at[2]
	m0, m1 := (t1-s.at[0])/2, (s.at[3]-t0)/2
	d := t1 - t0
	return t0 + part*(m0+part*((3*d-2*m0-m1)+part*(m0+m1-2*d)))
}

// neighbours compare an interval of the wave with others of the same shape.
type neighbours struct {
	own    stretch
	others []stretch // up to mostOthers
	restV  float64
	tape   *tape // what is left is recorded; may be nil
}

const (
	mostOthers    = 2
	mostStretched = 3 // times that a part of one is as long as that of another
)

// segments are the pieces in which the angle within a pitch is linear in time.
const segments = 4

// compare adds to what was heard the interval's samples less the mean of what the
// others have at the same angle, scaled by their speeds and their teeth.
func (b *neighbours) compare(w *window, heard *sound) {
	var ats [mostOthers]mapping
	from, others := b.own.at[1], ats[:len(b.others)]
	for i := range others {
		others[i].to = b.others[i].at[1]
	}
	for s := range heard {
		part := float64(s+1) / segments
		to := b.own.timeAt(part)
		if !(to > from) {
			return
		}
		perSample := 1 / (to - from)
		end := s / (segments / 2)
		g := b.own.gain[end] / float64(len(others))
		for i := range others {
			other := &b.others[i]
			if others[i].goOn(other.timeAt(part), perSample, g/other.gain[end]); !within(others[i].step, 1, mostStretched) {
				return // marks that are not a pitch apart
			}
		}
		b.segment(w, heard, s, from, to, others)
		from = to
	}
}

// mapping maps a segment to one of another interval: where that is, samples of it
// per sample, and the weight. While samples are taken, at counts from origin, an
// index of the window: the same in whatever window they are held.
type mapping struct {
	at, to, step, weight float64
	origin               int
}

// goOn maps the next segment, up to a position.
func (p *mapping) goOn(to, perSample, gain float64) {
	p.at, p.to = p.to, to
	p.step = (p.to - p.at) * perSample
	p.weight = p.step * gain
}

func (b *neighbours) segment(w *window, heard *sound, s int, from, to float64, others []mapping) {
	first := float64(w.first)
	i := int(math.Ceil(from - first))
	end := int(math.Ceil(to - first))
	if i < 0 || end > len(w.v) {
		return
	}
	shift := float64(i) + first - from
	level := b.restV
	for k := range others {
		if !others[k].begin(w, shift, end-i) {
			return
		}
		level -= b.restV * others[k].weight
	}
	r := &heard[s]
	var left [64]float64
	r.begin()
	if b.tape != nil {
		b.record(w, s, i, shift, to-from, others)
	}
	for i < end {
		some := left[:min(end-i, len(left))]
		for k, x := range w.v[i : i+len(some)] {
			some[k] = x - level
		}
		for k := range others {
			others[k].takeFrom(some, w.v)
		}
		r.add(some)
		if b.tape != nil {
			b.tape.add(some)
		}
		i += len(some)
	}
}

// record opens a piece on the tape for part s of the interval, whose samples begin
// at index i of the window, shift of them behind the part's beginning.
func (b *neighbours) record(w *window, s, i int, shift, samples float64, others []mapping) {
	perSample := b.own.part / (segments * samples)
	into := (float64(s)/segments)*b.own.part + shift*perSample
	p := b.tape.begin(s)
	p.echoes[0] = echo{1, [domains]ramp{{float64(w.first) + float64(i), 1}, {b.own.turned + into, perSample}}}
	for k := range others {
		at := float64(w.first) + float64(others[k].origin) + others[k].at
		p.echoes[1+k] = echo{-others[k].weight, [domains]ramp{{at, others[k].step}, {b.others[k].turned + into, perSample}}}
	}
}

// begin goes to the first of n samples, which lies a part of one behind the
// segment's beginning; false where the window does not hold all.
func (p *mapping) begin(w *window, shift float64, n int) bool {
	whole := math.Floor(p.at)
	p.origin = int(int64(whole) - w.first)
	p.at = p.at - whole + shift*p.step
	last := p.origin + int(p.at+float64(n)*p.step)
	return p.origin >= 2 && last < len(w.v)-3
}

// takeFrom takes from samples the wave at the mapping's place and so on, each a
// step further, and leaves the mapping at the next. The wave is the polynomial
// through six samples, by Everett's formula.
func (p *mapping) takeFrom(samples, v []float64) {
	const sixth, twentieth = 1.0 / 6, 1.0 / 20
	v = v[p.origin-2:]
	// Whole samples and the part of one are counted apart: turning the one into the
	// other at each step would take longer than all the rest.
	whole, weight := int(p.step), p.weight
	part := p.step - float64(whole)
	i := int(p.at)
	f := p.at - float64(i)
	for k := range samples {
		about := (*[6]float64)(v[i:])
		a, b, c, d := about[1], about[2], about[3], about[4]
		g := 1 - f
		bend0, bend1 := g*(g*g-1)*sixth, f*(f*f-1)*sixth
		fourth0, fourth1 := bend0*(g*g-4)*twentieth, bend1*(f*f-4)*twentieth
		beside0, beside1 := a+c, b+d
		samples[k] -= weight * (g*b + bend0*(beside0-2*b) + fourth0*(about[0]+d-4*beside0+6*b) +
			f*c + bend1*(beside1-2*c) + fourth1*(a+about[5]-4*beside1+6*c))
		i += whole
		if f += part; f >= 1 {
			i, f = i+1, f-1
		}
	}
	p.at = float64(i) + f
}
