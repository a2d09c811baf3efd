package teeth

import "math"

// residue is what is left of the wave when its regular part is taken away,
// counted by size, so that what is rare and large can be told from the body
// afterwards. Its memory is constant.
type residue struct {
	size    [residueBins]sizeBin
	octaves uint64 // in use
	n       int64
	rises   int64 // upward crossings of zero
	before  float64
}

// sizeBin is what is left within a narrow range of sizes.
type sizeBin struct {
	count  int64
	square float64 // sum of squares
	high   float64 // largest on the arming side
}

// Sizes are told apart by an eighth of an octave, from 2^−30 to 2^20 volts.
const (
	octaves     = 50
	perOctave   = 8
	residueBins = octaves * perOctave
	residueLow  = (1023 - 30) * perOctave
)

func (r *residue) add(values ...float64) {
	before, rises, used := r.before, r.rises, r.octaves
	for _, x := range values {
		i := int(math.Float64bits(x)<<1>>50) - residueLow
		i = max(0, min(i, residueBins-1))
		b := &r.size[i]
		b.count++
		b.square += x * x
		if x > b.high {
			b.high = x
		}
		if before < 0 && x >= 0 {
			rises++
		}
		before = x
		used |= 1 << (uint(i) / perOctave)
	}
	r.before, r.rises, r.octaves = before, rises, used
	r.n += int64(len(values))
}

func (r *residue) merge(o *residue) {
	for octave := range octaves {
		if o.octaves>>octave&1 == 0 {
			continue
		}
		for i := octave * perOctave; i < (octave+1)*perOctave; i++ {
			a, b := &r.size[i], &o.size[i]
			a.count += b.count
			a.square += b.square
			a.high = max(a.high, b.high)
		}
	}
	r.octaves |= o.octaves
	r.n += o.n
	r.rises += o.rises
}

// reset empties the residue, but for the sign of its last value.
func (r *residue) reset() {
	for octave := range octaves {
		if r.octaves>>octave&1 == 1 {
			clear(r.size[octave*perOctave : (octave+1)*perOctave])
		}
	}
	r.octaves, r.n, r.rises = 0, 0, 0
}

const (
	leastNoise = 100 // samples that tell anything
	trimmedAt  = 4.0 // standard deviations, beyond which the body has 0.006 %
	spikeAt    = 6.0 // beyond which noise of this length has nothing
)

// body is the standard deviation of the residue without what is too large to
// be Gaussian, the largest value in the body and the largest of all where that
// lies beyond it. ok is false where there is too little.
func (r *residue) body() (sigma, largest, spike float64, ok bool) {
	if r.n < leastNoise {
		return 0, 0, 0, false
	}
	var below int64
	middle := 0
	for ; middle < residueBins-1 && 2*(below+r.size[middle].count) < r.n; middle++ {
		below += r.size[middle].count
	}
	// The median of a normal variate's size is 0.6745 standard deviations.
	sigma = binTop(middle) / 0.6745
	for range 20 {
		sum, n := 0.0, int64(0)
		for i := range r.size {
			if binTop(i) <= trimmedAt*sigma {
				sum += r.size[i].square
				n += r.size[i].count
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
	beyond := int64(0)
	for i := range r.size {
		if binTop(i) <= spikeAt*sigma {
			largest = max(largest, r.size[i].high)
		} else {
			beyond += r.size[i].count
			spike = max(spike, r.size[i].high)
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
	// Mean over the fraction of the sum of the squared weights of between:
	// 0.822.
	return besideWhite + (1.5-besideWhite)*max(0, rho)
}

const besideWhite = 1 + 0.822/2

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

// unevenness is the most by which two intervals side by side differ, as a part of
// one.
func (b *neighbours) unevenness() float64 {
	most := 0.0
	for i := 1; i+1 < len(b.at); i++ {
		most = max(most, math.Abs(1-(b.at[i+1]-b.at[i])/(b.at[i]-b.at[i-1])))
	}
	return most
}

const segments = 4 // pieces in which the angle within a pitch is linear in time

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
	from, before, behind := b.at[2], b.at[1], b.at[3]
	for s := 1; s <= segments; s++ {
		part := float64(s) / segments
		to, beforeTo, behindTo := b.timeAt(2, part), b.timeAt(1, part), b.timeAt(3, part)
		if !(to > from) {
			return
		}
		perSample := 1 / (to - from)
		slopeBefore, slopeBehind := (beforeTo-before)*perSample, (behindTo-behind)*perSample
		tooth := 2
		if part > 0.5 {
			tooth = 3
		}
		g := 0.5 * b.gain[tooth]
		b.segment(w, r, from, to,
			stretch{before, slopeBefore, slopeBefore * g / b.gain[tooth-1]},
			stretch{behind, slopeBehind, slopeBehind * g / b.gain[tooth+1]})
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
	if !(x >= 2 && y >= 2 && y+float64(end-i)*q.step+3 < float64(len(w.v))) {
		return
	}
	level := b.rest * (1 - p.weight - q.weight)
	var left [64]float64
	for i < end {
		some := left[:min(end-i, len(left))]
		for k, x := range w.v[i : i+len(some)] {
			some[k] = x - level
		}
		x = p.takeFrom(some, w.v, x)
		y = q.takeFrom(some, w.v, y)
		r.add(some...)
		i += len(some)
	}
}

// takeFrom takes from samples the wave about x and so on, each a step further,
// and tells where the next would be. The wave is the polynomial through six
// samples, by Everett's formula.
func (p stretch) takeFrom(samples, v []float64, x float64) (next float64) {
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
