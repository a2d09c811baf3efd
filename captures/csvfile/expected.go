package csvfile

import "math/bits"

// expectation is the time that the next row should show, as text: that of the
// row before and one step. Where the text is as expected, nothing has to be
// converted.
type expectation struct {
	form form
	// last are the number's last seven bytes, or all of fewer, the last one
	// lowest and zeros above: where the sum has no room in them it fits no text.
	last    uint64
	lastAt  int
	shift   uint8
	lead    uint64 // the bytes before, as far as they are in leadIs
	leadIs  uint64
	add     uint64 // what a step is added with: see next
	notMark uint64
	zeros   uint64
}

// The longest number for which there is room, and the digits of a step that are
// sure to be among its last bytes.
const (
	mostExpected = lastBytes + 8
	lastBytes    = 7
	stepDigits   = lastBytes - 1
)

// expect prepares for the time that is step ticks behind the one at i, if that
// is of the form f and has no minus; ok tells whether a text can be expected.
func (e *expectation) expect(text *blockText, i int, f *form, step int64) (ok bool) {
	scale := f.scales[0]
	if f.length > mostExpected || scale <= 0 || step <= 0 || f.others(text, i) != 0 || step%scale != 0 ||
		uint64(step/scale) >= wholeTens[min(stepDigits, f.length-1)] {
		return false
	}
	if e.form != *f {
		e.form = *f
		e.lastAt = max(0, f.length-lastBytes)
		e.leadIs, e.shift = lowBytes(e.lastAt), uint8(8*(8-min(lastBytes, f.length)))
		e.prepare(uint64(step / scale))
	}
	e.lead = text.eight(i) & e.leadIs
	e.last = e.next(e.seen(text, i))
	return true
}

// prepare makes the constants of next for a step in units of the last digit.
func (e *expectation) prepare(step uint64) {
	e.add, e.zeros, e.notMark = 0, 0, ^uint64(0)
	for place := range min(lastBytes, e.form.length) {
		at := e.form.length - 1 - place
		if at == e.form.mark {
			mark := uint64(e.form.markIs)
			e.add += (0xFF - mark) << (8 * place)
			e.zeros += mark << (8 * place)
			e.notMark -= 0xFF << (8 * place)
			continue
		}
		e.add += (0xC6 + step%10) << (8 * place)
		e.zeros += '0' << (8 * place)
		step /= 10
	}
}

// next adds a step to the last bytes of a number. Every digit is raised so that
// a sum above 9 runs over into the byte above, and the mark so that it passes
// that on; what did not run over is lowered again.
func (e *expectation) next(last uint64) uint64 {
	sum := last + e.add
	stayed := sum >> 7 & everyByte
	return (sum-stayed*0xF6)&e.notMark + e.zeros
}

// seen are the last bytes of the number at i.
func (e *expectation) seen(text *blockText, i int) uint64 {
	return bits.ReverseBytes64(text.eight(i+e.lastAt) << (e.shift & 63))
}

// fits tells whether what stands around the last bytes of the number at i is as
// expected.
func (e *expectation) fits(text *blockText, i int) bool {
	return text.eight(i)&e.leadIs == e.lead && text.eight(i+e.form.length)&e.form.behindMask == e.form.behind
}
