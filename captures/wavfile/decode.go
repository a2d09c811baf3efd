package wavfile

import (
	"encoding/binary"
	"math"
)

// decode gives one channel of the frames, full scale being 1; out has room for
// one sample of each frame.
func (h header) decode(frames []byte, channel int, out []float64) {
	step := h.bytes * h.channels
	le := binary.LittleEndian
	at := channel * h.bytes
	switch {
	case h.floating && h.bytes == 4:
		for i := range out {
			out[i] = float64(math.Float32frombits(le.Uint32(frames[at:])))
			at += step
		}
	case h.floating:
		for i := range out {
			out[i] = math.Float64frombits(le.Uint64(frames[at:]))
			at += step
		}
	case h.bytes == 1:
		for i := range out {
			out[i] = float64(int(frames[at])-1<<7) / (1 << 7)
			at += step
		}
	case h.bytes == 2:
		for i := range out {
			out[i] = float64(int16(uint16(frames[at])|uint16(frames[at+1])<<8)) / (1 << 15)
			at += step
		}
	case h.bytes == 3:
		for i := range out {
			p := frames[at : at+3]
			out[i] = float64(int32(uint32(p[0])<<8|uint32(p[1])<<16|uint32(p[2])<<24)) / (1 << 31)
			at += step
		}
	default:
		for i := range out {
			out[i] = float64(int32(le.Uint32(frames[at:]))) / (1 << 31)
			at += step
		}
	}
}

// limits are the ends of the range. Floating point has none of its own; the
// converter before it ended within one step of 16 bits from 1.
func (h header) limits() (bottom, top float64) {
	if h.floating {
		return -1 + 1.0/(1<<15), 1 - 1.0/(1<<15)
	}
	return -1, 1 - 2/math.Ldexp(1, h.bits)
}

// clips marks samples at an end of the range as out of it, where two or more
// alike stand side by side: a single one may have just fitted.
type clips struct {
	bottom, top  float64
	above, below int64 // marked
	last         float64
}

// mark gives a sample, marked if it is at an end as is the one before it or the
// one behind; NaN stands for none.
func (c *clips) mark(before, v, behind float64) float64 {
	if (v >= c.top || v <= c.bottom) && (v == before || v == behind) {
		return c.out(v)
	}
	return v
}

func (c *clips) out(v float64) float64 {
	if v > 0 {
		c.above++
		return math.Inf(1)
	}
	c.below++
	return math.Inf(-1)
}
