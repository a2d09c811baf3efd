package teeth

import "math"

// residue is what is left of the wave when its regular part is taken away,
// counted by size, so that what is rare and large can be told from the body
// afterwards. Its memory is constant.
type residue struct {
	count  [residueBins]uint32
	square [residueBins]float64
	high   [residueBins]float64 // largest on the arming side
	n      int64
	rises  int64 // upward crossings of zero
	before float64
}

// Sizes are told apart by an eighth of an octave, from 2^−30 to 2^20 volts.
const (
	residueBins = 50 * 8
	residueLow  = (1023 - 30) << 3
)

func (r *residue) add(x float64) {
	i := int(math.Float64bits(x)<<1>>50) - residueLow
	i = max(0, min(i, residueBins-1))
	r.count[i]++
	r.square[i] += x * x
	if x > r.high[i] {
		r.high[i] = x
	}
	if r.before < 0 && x >= 0 {
		r.rises++
	}
	r.before = x
	r.n++
}

func (r *residue) merge(o *residue) {
	for i := range r.count {
		r.count[i] += o.count[i]
		r.square[i] += o.square[i]
		r.high[i] = max(r.high[i], o.high[i])
	}
	r.n += o.n
	r.rises += o.rises
}

const (
	trimmedAt = 4.0 // standard deviations, beyond which the body has 0.006 %
	spikeAt   = 6.0 // beyond which noise of this length has nothing
)

// body is the standard deviation of the residue without what is too large to
// be Gaussian, the largest value in the body and the largest of all where that
// lies beyond it. ok is false where there is too little.
func (r *residue) body() (sigma, largest, spike float64, ok bool) {
	if r.n < 100 {
		return 0, 0, 0, false
	}
	var below int64
	middle := 0
	for ; middle < residueBins-1 && 2*(below+int64(r.count[middle])) < r.n; middle++ {
		below += int64(r.count[middle])
	}
	// The median of a normal variate's size is 0.6745 standard deviations.
	sigma = binTop(middle) / 0.6745
	for range 20 {
		sum, n := 0.0, int64(0)
		for i := range r.count {
			if binTop(i) <= trimmedAt*sigma {
				sum += r.square[i]
				n += int64(r.count[i])
			}
		}
		if n == 0 {
			break
		}
		next := math.Sqrt(sum / float64(n))
		if math.Abs(next-sigma) < 1e-3*sigma {
			break
		}
		sigma = next
	}
	beyond := uint32(0)
	for i := range r.count {
		if binTop(i) <= spikeAt*sigma {
			largest = max(largest, r.high[i])
		} else {
			beyond += r.count[i]
			spike = max(spike, r.high[i])
		}
	}
	if beyond < 2 {
		spike = 0
	}
	return sigma, largest, spike, true
}

func binTop(i int) float64 {
	return math.Float64frombits(uint64(i+1+residueLow) << 49)
}

// beside is the factor by which the variance of a sample less the mean of two
// interpolated from the teeth beside exceeds the sample's own: 1.5 for smooth
// noise, less where the interpolation smooths. rho is the correlation of
// neighbouring samples.
func beside(rho float64) float64 {
	// Mean of the squared weights of the cubic below over its fraction: 0.81.
	return 1.405 + 0.095*max(0, rho)
}

// neighbours compares an interval of the wave with the two beside it.
type neighbours struct {
	at   [6]float64 // positions of six consecutive teeth
	gain [6]float64 // their lobes' sizes, relative
	rest float64
}

// even tells that the teeth are alike: one at another gap has another shape.
func (b *neighbours) even() bool {
	for _, g := range b.gain[1:5] {
		if q := g / b.gain[2]; q < 0.88 || q > 1.14 {
			return false
		}
	}
	return true
}

const segments = 8 // pieces in which the angle within a pitch is linear in time

// timeAt is the position at a part of the pitch after tooth j, by a cubic
// through that tooth and the next with slopes from their neighbours.
func (b *neighbours) timeAt(j int, part float64) float64 {
	t0, t1 := b.at[j], b.at[j+1]
	m0, m1 := (t1-b.at[j-1])/2, (b.at[j+2]-t0)/2
	d := t1 - t0
	return t0 + part*(m0+part*((3*d-2*m0-m1)+part*(m0+m1-2*d)))
}

// compare adds to the residue the middle interval's samples less the mean of
// what the intervals before and behind have at the same angle, scaled by their
// speeds and their teeth.
func (b *neighbours) compare(w *window, r *residue) {
	from, before, behind := b.at[2], b.timeAt(1, 0), b.timeAt(3, 0)
	for s := 1; s <= segments; s++ {
		part := float64(s) / segments
		to, beforeTo, behindTo := b.timeAt(2, part), b.timeAt(1, part), b.timeAt(3, part)
		if !(to > from) {
			return
		}
		slopeBefore, slopeBehind := (beforeTo-before)/(to-from), (behindTo-behind)/(to-from)
		tooth := 2
		if part > 0.5 {
			tooth = 3
		}
		g := b.gain[tooth]
		b.segment(w, r, from, to,
			stretch{before, slopeBefore, 0.5 * slopeBefore * g / b.gain[tooth-1]},
			stretch{behind, slopeBehind, 0.5 * slopeBehind * g / b.gain[tooth+1]})
		from, before, behind = to, beforeTo, behindTo
	}
}

// stretch maps a segment to one of a neighbour: its position, samples of it per
// sample, and the weight.
type stretch struct{ at, step, weight float64 }

func (b *neighbours) segment(w *window, r *residue, from, to float64, p, q stretch) {
	first := float64(w.first)
	i := int(math.Ceil(from - first))
	end := int(math.Ceil(to - first))
	if i < 0 || end > len(w.v) {
		return
	}
	shift := float64(i) + first - from
	x, y := p.at+shift*p.step-first, q.at+shift*q.step-first
	if x < 1 || y < 1 || y+float64(end-i)*q.step+2 >= float64(len(w.v)) {
		return
	}
	between := cubic
	if to-from < fineSegment {
		between = quintic
		if x < 2 || y < 2 || y+float64(end-i)*q.step+3 >= float64(len(w.v)) {
			return
		}
	}
	level := b.rest * (1 - p.weight - q.weight)
	for ; i < end; i++ {
		r.add(w.v[i] - level - p.weight*between(w.v, x) - q.weight*between(w.v, y))
		x += p.step
		y += q.step
	}
}

// fineSegment is the number of samples in a segment above which the cubic
// follows the wave well enough.
const fineSegment = 5

// cubic interpolates between samples by the cubic with central slopes.
func cubic(v []float64, x float64) float64 {
	i := int(x)
	f := x - float64(i)
	p := v[i-1 : i+3 : i+3]
	a := p[1] - p[2]
	return p[1] + 0.5*f*(p[2]-p[0]+f*(2*p[0]-5*p[1]+4*p[2]-p[3]+f*(3*a+p[3]-p[0])))
}

// quintic interpolates by the polynomial through six samples.
func quintic(v []float64, x float64) float64 {
	i := int(x)
	f := x - float64(i)
	p := v[i-2 : i+4 : i+4]
	a, b, c, d, e, g := f+2, f+1, f, f-1, f-2, f-3
	return -p[0]*b*c*d*e*g/120 + p[1]*a*c*d*e*g/24 - p[2]*a*b*d*e*g/12 +
		p[3]*a*b*c*e*g/12 - p[4]*a*b*c*d*g/24 + p[5]*a*b*c*d*e/120
}
