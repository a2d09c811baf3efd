package noise

import (
	"math"
	"math/bits"
)

// Residuals is what is left of the wave when its regular part is taken away,
// counted by size, so that what is rare and large can be told from the body
// afterwards. Its memory is that of the octaves of size met.
type Residuals struct {
	sizes          // of the values
	pieces sizes   // the same values by their piece's root mean square
	open   sizeBin // the piece under way
	sharp  float32 // largest value on the arming side that stands out of its piece
	n      int64
	pairs  int64  // samples that follow another
	rises  int64  // upward crossings of zero, among them
	before uint64 // 1 if the value before was negative
	begun  bool   // the next value follows none
}

// sizes are values counted by a size.
type sizes struct {
	place [octaves]uint8 // of an octave among those kept, counted from 1; 0: nothing of that size
	kept  []octave
	used  uint64 // which of all octaves hold anything
}

// octave is what is left within a factor of two of size.
type octave [perOctave]sizeBin

// sizeBin is what is left within a narrow range of sizes, of up to 4 billion values; kept
// small, as there are many.
type sizeBin struct {
	square float64 // sum of squares
	count  uint32
	high   float32 // largest on the arming side
}

// Sizes are told apart by a quarter of an octave, from 2^−30 to 2^20 volts.
const (
	octaves    = 50
	perOctave  = 4
	sizeBins   = octaves * perOctave
	lowestSize = (1023 - 30) * perOctave
)

// Add takes values that follow one another, and the last ones taken.
func (r *Residuals) Add(values []float64) {
	if len(values) == 0 {
		return
	}
	before, rises, used, square, high := r.before, r.rises, r.used, 0.0, 0.0
	if r.begun {
		before = 0
		r.pairs--
		r.begun = false
	}
	for _, x := range values {
		size := math.Float64bits(x)
		i := max(0, min(int(size<<1>>51)-lowestSize, sizeBins-1))
		used |= 1 << (uint(i) / perOctave)
		b := &r.octave(i / perOctave)[i%perOctave]
		b.count++
		b.square += x * x
		square += x * x
		high = max(high, x)
		b.high = max(b.high, float32(x))
		isNegative := size >> 63
		rises += int64(before &^ isNegative)
		before = isNegative
	}
	r.before, r.rises, r.used = before, rises, used
	r.n += int64(len(values))
	r.pairs += int64(len(values))
	r.open.count += uint32(len(values))
	r.open.square += square
	r.open.high = max(r.open.high, float32(high))
}

// Begin opens a piece: what is added next does not follow the last ones added.
func (r *Residuals) Begin() {
	r.close()
	r.begun = true
}

// close counts the piece under way.
func (r *Residuals) close() {
	if r.open.count == 0 {
		return
	}
	rms := math.Sqrt(r.open.square / float64(r.open.count))
	if float64(r.open.high) > sharpAt*rms {
		r.sharp = max(r.sharp, r.open.high)
	}
	b := r.pieces.of(rms)
	b.count += r.open.count
	b.square += r.open.square
	r.open = sizeBin{}
}

// sharpAt is the times a piece's root mean square that a spike in it stands at: a quarter
// of a pitch that is off as a whole, as half a sine, a parabola or a slope, has 2.3 at most,
// and 3.2 where it is off from the middle on.
const sharpAt = 4

// of is the bin of a size.
func (s *sizes) of(size float64) *sizeBin {
	i := max(0, min(int(math.Float64bits(size)>>50)-lowestSize, sizeBins-1))
	s.used |= 1 << (uint(i) / perOctave)
	return &s.octave(i / perOctave)[i%perOctave]
}

// octave is one of all, kept from now on.
func (s *sizes) octave(i int) *octave {
	if s.place[i] == 0 {
		s.keep(i)
	}
	return &s.kept[s.place[i]-1]
}

// keep makes room for an octave: little more than that, as sizes are counted for each
// speed, method and part of the pitch.
func (s *sizes) keep(i int) {
	const some = 3
	if n := len(s.kept); n == cap(s.kept) {
		s.kept = append(make([]octave, 0, n+some), s.kept...)
	}
	s.kept = append(s.kept, octave{})
	s.place[i] = uint8(len(s.kept))
}

func (r *Residuals) merge(o *Residuals) {
	o.close()
	r.sizes.merge(&o.sizes)
	r.pieces.merge(&o.pieces)
	r.n += o.n
	r.pairs += o.pairs
	r.rises += o.rises
	r.sharp = max(r.sharp, o.sharp)
}

func (s *sizes) merge(o *sizes) {
	for used := o.used; used != 0; used &= used - 1 {
		i := bits.TrailingZeros64(used)
		to, from := s.octave(i), o.octave(i)
		for k := range to {
			a, b := &to[k], &from[k]
			a.count += b.count
			a.square += b.square
			a.high = max(a.high, b.high)
		}
	}
	s.used |= o.used
}

// reset empties them, and keeps the memory.
func (r *Residuals) reset() {
	if r.n == 0 {
		return
	}
	r.sizes.reset()
	r.pieces.reset()
	r.open = sizeBin{}
	r.n, r.pairs, r.rises, r.begun, r.sharp = 0, 0, 0, true, 0
}

func (s *sizes) reset() {
	for used := s.used; used != 0; used &= used - 1 {
		*s.octave(bits.TrailingZeros64(used)) = octave{}
	}
	s.used = 0
}

const (
	leastNoise  = 100 // samples that tell anything
	leastPieces = 20  // of them, of which half tell
	trimmedAt   = 4.0 // standard deviations, beyond which the body has 0.006 %
	spikeAt     = 6.0 // beyond which noise of this length has nothing
)

// body is the standard deviation without what is too large to
// be Gaussian, values or whole pieces, the largest value in the body and the
// largest of all where that lies beyond it. ok is false where there is too little.
func (r *Residuals) body() (sigma, largest, spike float64, ok bool) {
	if r.n < leastNoise {
		return 0, 0, 0, false
	}
	// The median of a normal variate's size is 0.6745 standard deviations.
	sigma = min(r.trimmed(0.6745, trimmedAt), r.calm())
	beyond := int64(0)
	r.each(func(size float64, b *sizeBin) {
		if size <= spikeAt*sigma {
			largest = max(largest, float64(b.high))
		} else {
			beyond += int64(b.count)
			spike = max(spike, float64(b.high))
		}
	})
	if beyond < 2 {
		spike = 0
	}
	return sigma, largest, spike, true
}

// Level is the noise where they are nothing else; not ok where there is too little.
func (r *Residuals) Level() (l Level, ok bool) {
	sigma, largest, spike, ok := r.body()
	return Level{SigmaV: sigma, LargestV: largest, spikeV: spike, rises: float64(r.rises) / float64(r.n), samples: r.n}, ok
}

// Count is the number of values.
func (r *Residuals) Count() int64 { return r.n }

// calm is the standard deviation in the pieces that nothing strikes. What rings on
// after a spark, or moves the tooth beside it, leaves many values in a few pieces, none
// of them too large to be noise: but together they are.
func (r *Residuals) calm() float64 {
	r.close()
	if r.n-r.pairs < leastPieces {
		return math.Inf(1)
	}
	middle, spread := r.pieces.calmest()
	return r.pieces.trimmed(math.Pow(middle, 1.5), math.Pow(middle+trimmedAt*spread, 1.5))
}

// calmest tells how the calmer half of pieces of noise spreads, which nothing strikes:
// their mean square over that of all is nearly the cube of a normal variate of this mean
// and standard deviation (E. B. Wilson, M. M. Hilferty, Proc. Nat. Acad. Sci. 17, 1931,
// 684), however few independent values a piece of such noise holds.
func (s *sizes) calmest() (mean, deviation float64) {
	const oneBelow = 0.1587 // of a normal variate is less than a deviation below the mean
	relative := max(1e-3, 1-math.Pow(s.quantile(oneBelow)/s.quantile(0.5), 2.0/3))
	deviation = (math.Sqrt(1+4*relative*relative) - 1) / (2 * relative) // as the mean is 1 − its square
	return 1 - deviation*deviation, deviation
}

// quantile is the size that a part of the values does not exceed.
func (s *sizes) quantile(part float64) (at float64) {
	all, below := 0.0, 0.0
	s.each(func(_ float64, b *sizeBin) { all += float64(b.count) })
	s.each(func(size float64, b *sizeBin) {
		count := float64(b.count)
		if below < part*all {
			within := min(1, (part*all-below)/count)
			at = size * math.Exp2((within-0.5)/perOctave)
		}
		below += count
	})
	return at
}

// trimmed is the root mean square of what does not exceed it so many times, found
// from the median, which is it so many times.
func (s *sizes) trimmed(atMedian, upTo float64) float64 {
	rms := s.median() / atMedian
	for range 20 {
		sum, n := 0.0, int64(0)
		s.each(func(size float64, b *sizeBin) {
			if size <= upTo*rms {
				sum += b.square
				n += int64(b.count)
			}
		})
		if n == 0 {
			break
		}
		next := math.Sqrt(sum / float64(n))
		if math.Abs(next-rms) < 1e-3*rms {
			break
		}
		rms = next
	}
	return rms
}

// median is about the size that half of the values do not exceed.
func (s *sizes) median() float64 {
	all := int64(0)
	s.each(func(_ float64, b *sizeBin) { all += int64(b.count) })
	below, at := int64(0), 0.0
	s.each(func(size float64, b *sizeBin) {
		if 2*below < all {
			at = size
		}
		below += int64(b.count)
	})
	return at
}

// each goes through the bins in use, from small sizes to large, with the size in the
// middle of each.
func (s *sizes) each(do func(size float64, b *sizeBin)) {
	for used := s.used; used != 0; used &= used - 1 {
		i := bits.TrailingZeros64(used)
		o := s.octave(i)
		for k := range o {
			if o[k].count > 0 {
				do(binMiddle(i*perOctave+k), &o[k])
			}
		}
	}
}

func binMiddle(i int) float64 {
	return math.Float64frombits(uint64(2*(i+lowestSize)+1) << 49)
}

// correlation is that of a value with the next, as the crossings of zero tell it
// (S. O. Rice, Bell Syst. Tech. J. 24, 1945, for discrete time).
func (r *Residuals) correlation() float64 {
	return math.Cos(2 * math.Pi * float64(r.rises) / float64(max(r.pairs, 1)))
}

// apart is the number of values that are independent, roughly: those that hardly
// cross zero tell little.
func (r *Residuals) apart() float64 {
	return float64(r.n) * min(1, 4*float64(r.rises)/float64(max(r.pairs, 1)))
}
