package noise

import "math"

// Wave is what is held of the wave: the position of its first sample, and samples.
type Wave struct {
	First int64
	V     []float64
}

// Interval is an interval of the wave from one tooth to the next.
type Interval struct {
	At   [4]float64 // positions of the tooth before, its two teeth, and the one behind
	Gain [2]float64 // sizes of its own teeth's lobes, relative

	Turned, Part float64 // turns of the wheel to its first tooth, and in it
}

// timeAt is the position at a part of the interval, by a cubic through its teeth
// with slopes from their neighbours.
func (s *Interval) timeAt(part float64) float64 {
	t0, t1 := s.At[1], s.At[2]
	m0, m1 := (t1-s.At[0])/2, (s.At[3]-t0)/2
	d := t1 - t0
	return t0 + part*(m0+part*((3*d-2*m0-m1)+part*(m0+m1-2*d)))
}

// Comparison compare an interval of the wave with others of the same shape.
type Comparison struct {
	Own    Interval
	Others []Interval // up to mostOthers
	RestV  float64
	Series *Series // what is left is kept in order; may be nil
}

const (
	mostOthers    = 2
	mostStretched = 3 // times that a part of one is as long as that of another
)

// segments are the pieces in which the angle within a pitch is linear in time.
const segments = 4

// Compare adds to some residuals the interval's samples less the mean of what the
// others have at the same angle, scaled by their speeds and their teeth.
func (b *Comparison) Compare(w Wave, sum *ByPart) {
	var ats [mostOthers]mapping
	from, others := b.Own.At[1], ats[:len(b.Others)]
	for i := range others {
		others[i].to = b.Others[i].At[1]
	}
	for s := range sum {
		part := float64(s+1) / segments
		to := b.Own.timeAt(part)
		if !(to > from) {
			return
		}
		perSample := 1 / (to - from)
		end := s / (segments / 2)
		g := b.Own.Gain[end] / float64(len(others))
		for i := range others {
			other := &b.Others[i]
			others[i].goOn(other.timeAt(part), perSample, g/other.Gain[end])
			if step := others[i].step; !(step < mostStretched && 1 < mostStretched*step) {
				return // marks that are not a pitch apart
			}
		}
		b.segment(w, sum, s, from, to, others)
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

func (b *Comparison) segment(w Wave, sum *ByPart, s int, from, to float64, others []mapping) {
	first := float64(w.First)
	i := int(math.Ceil(from - first))
	end := int(math.Ceil(to - first))
	if i < 0 || end > len(w.V) {
		return
	}
	shift := float64(i) + first - from
	level := b.RestV
	for k := range others {
		if !others[k].begin(w, shift, end-i) {
			return
		}
		level -= b.RestV * others[k].weight
	}
	r := &sum[s]
	var left [64]float64
	r.Begin()
	if b.Series != nil {
		b.record(w, s, i, shift, to-from, others)
	}
	for i < end {
		some := left[:min(end-i, len(left))]
		for k, x := range w.V[i : i+len(some)] {
			some[k] = x - level
		}
		for k := range others {
			others[k].takeFrom(some, w.V)
		}
		r.Add(some)
		if b.Series != nil {
			b.Series.add(some)
		}
		i += len(some)
	}
}

// record opens a piece of the series for part s of the interval, whose samples begin
// at index i of the window, shift of them behind the part's beginning.
func (b *Comparison) record(w Wave, s, i int, shift, samples float64, others []mapping) {
	perSample := b.Own.Part / (segments * samples)
	into := (float64(s)/segments)*b.Own.Part + shift*perSample
	p := b.Series.begin(s)
	p.terms[0] = term{1, [domains]ramp{{float64(w.First) + float64(i), 1}, {b.Own.Turned + into, perSample}}}
	for k := range others {
		at := float64(w.First) + float64(others[k].origin) + others[k].at
		p.terms[1+k] = term{-others[k].weight, [domains]ramp{{at, others[k].step}, {b.Others[k].Turned + into, perSample}}}
	}
}

// begin goes to the first of n samples, which lies a part of one behind the
// segment's beginning; false where the window does not hold all.
func (p *mapping) begin(w Wave, shift float64, n int) bool {
	whole := math.Floor(p.at)
	p.origin = int(int64(whole) - w.First)
	p.at = p.at - whole + shift*p.step
	last := p.origin + int(p.at+float64(n)*p.step)
	return p.origin >= 2 && last < len(w.V)-3
}

// takeFrom takes from samples the wave at the mapping's place and so on, each a
// step further, and leaves the mapping at the next. The wave is the polynomial
// through six samples, by Lagrange's formula; about the middle between them it
// needs their sums and differences only.
func (p *mapping) takeFrom(samples, v []float64) {
	// Of Lagrange's weights what does not depend on the place: of the two samples 1/2
	// from the middle, of those 3/2 from it, and of those 5/2.
	const near, next, far = 1.0 / 384, -1.0 / 256, 1.0 / 768
	const third, fifth = 1.0 / 3, 1.0 / 5
	v = v[p.origin-2:]
	// Whole samples and the part of one are counted apart: turning the one into the
	// other at each step would take longer than all the rest.
	whole := int(p.step)
	part := p.step - float64(whole)
	i := int(p.at)
	f := p.at - float64(i)
	weight0, weight1, weight2 := near*p.weight, next*p.weight, far*p.weight
	for k := range samples {
		about := (*[6]float64)(v[i:])
		u := 2*f - 1
		u2 := u * u
		a, b, c := u2-1, u2-9, u2-25
		samples[k] -= weight0*b*c*(about[2]+about[3]+u*(about[3]-about[2])) +
			weight1*a*c*(about[1]+about[4]+u*third*(about[4]-about[1])) +
			weight2*a*b*(about[0]+about[5]+u*fifth*(about[5]-about[0]))
		i += whole
		if f += part; f >= 1 {
			i, f = i+1, f-1
		}
	}
	p.at = float64(i) + f
}
