package csvfile

import "bytes"

// form is how a number is written, its sign apart, and where its digits are
// then. Rows are alike: the number in the next row is looked for in the same
// form, so that no digit has to be found before the next cell can be begun.
type form struct {
	length int  // of the digits and the mark between them
	mark   int  // place of the byte that is to be markIs
	markIs byte // the decimal mark, or what stands behind a whole number
	width  int  // from the number to the next cell

	// The last eight digits are those of the eight bytes at tail, as far as
	// they are in tailKeep, and else of the bytes one further on, without the
	// mark; tailShift takes off what follows fewer digits.
	tail      int
	tailKeep  uint64
	tailShift uint8
	// long tells that there are digits before these; likewise from the number's
	// beginning.
	long      bool
	headShift uint8
	headKeep  uint64

	// The eight bytes behind the digits are to be behind, as far as they are in
	// behindMask: an exponent, and what ends the cell.
	behind, behindMask uint64

	// What the digits as one whole number are to be divided by to be volts, or
	// multiplied by to be ticks; for a number without a minus and one with it.
	divisors [2]float64
	scales   [2]int64
}

// noForm fits no number.
var noForm = form{behind: 1}

// mostInForm is how many digits a form may have: so many are less than 2⁵³,
// and a thousand times as many less than 2⁶³.
const mostInForm = 15

// like is the form that the number of the row above has.
func (c *cellPlan) like() *form { return &c.forms[c.current&1] }

// learn takes the form of a number that was read from the cell; behind it
// follows what ends the cell. It takes the place of the one not used last.
func (c *cellPlan) learn(d decimal, number []byte, point byte) {
	c.current ^= 1
	*c.like() = noForm
	if d.neg {
		number = number[1:]
	}
	end := 0
	for end < len(number) && number[end]|0x20 != 'e' {
		end++
	}
	digits, exponent := number[:end], number[end:]
	whole := bytes.IndexByte(digits, point)
	count := len(digits) - one(whole >= 0)
	const mostExponent = 5 // bytes
	if number[0] == '+' || count > mostInForm || d.long || len(exponent) > mostExponent {
		return
	}
	s := form{length: len(digits), mark: whole, markIs: point, width: len(number) + 1, long: count > 8}
	if whole < 0 {
		whole = count
		s.mark, s.markIs = count, c.end
		if len(exponent) > 0 {
			s.markIs = exponent[0]
		}
	}
	if !s.scale(c.role, d.exp+c.exp) {
		return
	}
	s.tail = max(0, len(digits)-9)
	if whole == count {
		s.tail = max(0, count-8)
	}
	s.tailKeep, s.headKeep = lowBytes(whole-s.tail), lowBytes(whole)
	s.tailShift, s.headShift = uint8(8*max(0, 8-count)), uint8(8*min(8, 16-count))
	s.behind, s.behindMask = uint64(c.end), 0xFF
	if c.end == '\r' {
		s.behind, s.behindMask = '\r'|'\n'<<8, 0xFFFF
	}
	for i := len(exponent) - 1; i >= 0; i-- {
		s.behind = s.behind<<8 | uint64(exponent[i])
		s.behindMask = s.behindMask<<8 | 0xFF
	}
	*c.like() = s
}

// scale prepares for a number of so many powers of ten; not ok where it would
// not be exact.
func (s *form) scale(role cellRole, exp int) (ok bool) {
	const spareTens = 3
	switch {
	case role == voltsCell && exp <= 0 && exp >= -maxExactTen:
		s.divisors = [2]float64{tens[-exp], -tens[-exp]}
		return true
	case role == timeCell && exp >= 0 && exp <= spareTens:
		s.scales = [2]int64{int64(wholeTens[exp]), -int64(wholeTens[exp])}
		return true
	}
	return false
}

// lowBytes masks the first bytes of eight.
func lowBytes(n int) uint64 {
	if n >= 8 {
		return ^uint64(0)
	}
	return 1<<(8*max(0, n)) - 1
}

// minus is 1 where the byte is a minus, else 0.
func minus(b byte) int { return int((uint32(b^'-') - 1) >> 31) }

// digits are the values of the last eight digits; a is what stands at tail, b
// what stands one byte further on.
func (f *form) digits(a, b uint64) uint64 {
	return ((a&f.tailKeep | b&^f.tailKeep) ^ '0'*everyByte) << (f.tailShift & 63)
}

// head are the values of the digits before the last eight; a is what stands at
// the number's beginning, b what stands one byte further on.
func (f *form) head(a, b uint64) uint64 {
	return ((a&f.headKeep | b&^f.headKeep) ^ '0'*everyByte) << (f.headShift & 63)
}

// others is not 0 where what stands around the digits of the number at i is not
// as in the form.
func (f *form) others(text *blockText, i int) uint64 {
	return uint64(text.at(i+f.mark)^f.markIs) | (text.eight(i+f.length)&f.behindMask ^ f.behind)
}

// notDigits is not 0 where a value is above 9.
func notDigits(values uint64) uint64 {
	return (values + 0x76*everyByte | values) & topBits
}

// read reads the number at i, of which the minus is passed; not ok where it has
// another form.
func (f *form) read(text *blockText, i int) (mant uint64, ok bool) {
	digits := f.digits(text.eight(i+f.tail), text.eight(i+f.tail+1))
	mant, bad := joined(digits), notDigits(digits)|f.others(text, i)
	if f.long {
		digits = f.head(text.eight(i), text.eight(i+1))
		mant += joined(digits) * 100000000
		bad |= notDigits(digits)
	}
	return mant, bad == 0
}
