package teeth

import (
	"math"
	"math/bits"
)

// residue is what is left of the wave when its regular part is taken away,
// counted by size, so that what is rare and large can be told from the body
// afterwards. Its memory is that of the octaves of size met.
type residue struct {
	size   [octaves]*octave // nil: nothing of that size
	used   uint64           // which of them hold anything
	n      int64
	pairs  int64  // samples that follow another
	rises  int64  // upward crossings of zero, among them
	before uint64 // 1 if the value before was negative
	begun  bool   // the next value follows none
}

// octave is what is left within a factor of two of size.
type octave [perOctave]sizeBin

// sizeBin is what is left within a narrow range of sizes.
type sizeBin struct {
	count  int64
	square float64 // sum of squares
	high   float64 // largest on the arming side
}

// Sizes are told apart by a quarter of an octave, from 2^−30 to 2^20 volts.
const (
	octaves     = 50
	perOctave   = 4
	residueBins = octaves * perOctave
	residueLow  = (1023 - 30) * perOctave
)

// add takes values that follow one another, and the last ones taken.
func (r *residue) add(values []float64) {
	if len(values) == 0 {
		return
	}
	before, rises, used := r.before, r.rises, r.used
	if r.begun {
		before = 0
		r.pairs--
		r.begun = false
	}
	for _, x := range values {
		size := math.Float64bits(x)
		i := max(0, min(int(size<<1>>51)-residueLow, residueBins-1))
		o := r.size[i/perOctave]
		if o == nil {
			o = new(octave)
			r.size[i/perOctave] = o
		}
		used |= 1 << (uint(i) / perOctave)
		b := &o[i%perOctave]
		b.count++
		b.square += x * x
		if x > b.high {
			b.high = x
		}
		isNegative := size >> 63
		rises += int64(before &^ isNegative)
		before = isNegative
	}
	r.before, r.rises, r.used = before, rises, used
	r.n += int64(len(values))
	r.pairs += int64(len(values))
}

// begin tells that what is added next does not follow the last ones added.
func (r *residue) begin() { r.begun = true }

func (r *residue) merge(o *residue) {
	for used := o.used; used != 0; used &= used - 1 {
		i := bits.TrailingZeros64(used)
		if r.size[i] == nil {
			r.size[i] = new(octave)
		}
		for k := range r.size[i] {
			a, b := &r.size[i][k], &o.size[i][k]
			a.count += b.count
			a.square += b.square
			a.high = max(a.high, b.high)
		}
	}
	r.used |= o.used
	r.n += o.n
	r.pairs += o.pairs
	r.rises += o.rises
}

// reset empties the residue, and keeps its memory.
func (r *residue) reset() {
	if r.n == 0 {
		return
	}
	for used := r.used; used != 0; used &= used - 1 {
		*r.size[bits.TrailingZeros64(used)] = octave{}
	}
	r.used, r.n, r.pairs, r.rises, r.begun = 0, 0, 0, 0, true
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
	// The median of a normal variate's size is 0.6745 standard deviations.
	sigma = r.median() / 0.6745
	for range 20 {
		sum, n := 0.0, int64(0)
		r.each(func(size float64, b *sizeBin) {
			if size <= trimmedAt*sigma {
				sum += b.square
				n += b.count
			}
		})
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
	r.each(func(size float64, b *sizeBin) {
		if size <= spikeAt*sigma {
			largest = max(largest, b.high)
		} else {
			beyond += b.count
			spike = max(spike, b.high)
		}
	})
	if beyond < 2 {
		spike = 0
	}
	return sigma, largest, spike, true
}

// median is about the size that half of the values do not exceed.
func (r *residue) median() float64 {
	below, at := int64(0), 0.0
	r.each(func(size float64, b *sizeBin) {
		if 2*below < r.n {
			at = size
		}
		below += b.count
	})
	return at
}

// each goes through the bins in use, from small sizes to large, with the size in the
// middle of each.
func (r *residue) each(do func(size float64, b *sizeBin)) {
	for used := r.used; used != 0; used &= used - 1 {
		i := bits.TrailingZeros64(used)
		o := r.size[i]
		for k := range o {
			if o[k].count > 0 {
				do(binMiddle(i*perOctave+k), &o[k])
			}
		}
	}
}

func binMiddle(i int) float64 {
	return math.Float64frombits(uint64(2*(i+residueLow)+1) << 49)
}

// correlation is that of a value with the next, as the crossings of zero tell it
// (S. O. Rice, Bell Syst. Tech. J. 24, 1945, for discrete time).
func (r *residue) correlation() float64 {
	return math.Cos(2 * math.Pi * float64(r.rises) / float64(max(r.pairs, 1)))
}

// apart is the number of values that are independent, roughly: those that hardly
// cross zero tell little.
func (r *residue) apart() float64 {
	return float64(r.n) * min(1, 4*float64(r.rises)/float64(max(r.pairs, 1)))
}
