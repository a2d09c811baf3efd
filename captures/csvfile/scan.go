package csvfile

import (
	"encoding/binary"
	"math"
	"math/bits"
	"strconv"
)

// decimal is a number as it is written, mant × 10^exp.
type decimal struct {
	mant uint64
	exp  int
	neg  bool
	long bool // mant does not hold all its digits
}

// padding is how many bytes a scanned slice must have behind its text.
const padding = 16

const (
	everyByte = 0x0101010101010101
	topBits   = 0x80 * everyByte
)

// tens has the powers of ten that a float64 holds exactly, and is read at an
// index taken modulo its length.
var tens = func() (powers [32]float64) {
	powers[0] = 1
	for i := 1; i <= maxExactTen; i++ {
		powers[i] = powers[i-1] * 10
	}
	return powers
}()

// wholeTens has the powers of ten that a uint64 holds, likewise.
var wholeTens = func() (powers [32]uint64) {
	powers[0] = 1
	for i := 1; i <= maxWholeTen; i++ {
		powers[i] = powers[i-1] * 10
	}
	return powers
}()

const (
	maxExactTen = 22
	maxWholeTen = 19
)

// digitsOf takes the digits '0'…'9' of eight bytes to 0…9 and says how many
// stand at the front, the first character being the lowest byte.
func digitsOf(eight uint64) (values uint64, n int) {
	values = eight ^ '0'*everyByte
	// 0x76 carries a value above 9 into the byte's top bit.
	others := (values + 0x76*everyByte | values) & topBits
	return values, bits.TrailingZeros64(others) >> 3
}

// joined turns eight digit values into their number: neighbours are joined to
// pairs, pairs to fours, fours to eight, each with one multiplication.
func joined(values uint64) uint64 {
	const pairs = 0x000000FF000000FF
	values = values*10 + values>>8
	return (values&pairs*(100+1000000<<32) + values>>16&pairs*(1+10000<<32)) >> 32
}

// scanDecimal reads the number at text[at:]; end is where it stops. The text
// is followed by padding bytes. It takes what strconv.ParseFloat takes, but no
// hexadecimal, no underscores and no names.
func scanDecimal(text []byte, at int, point byte) (d decimal, end int, ok bool) {
	start := at
	if c := text[at]; c == '-' || c == '+' {
		d.neg = c == '-'
		at++
	}
	first := at
	d.mant, at = scanDigits(text, at, 0)
	digits := at - first
	if text[at] == point {
		whole := at
		d.mant, at = scanDigits(text, at+1, d.mant)
		d.exp = whole + 1 - at
		digits -= d.exp
	}
	if digits == 0 {
		return decimal{}, start, false
	}
	if digits > maxWholeTen {
		d.mant, d.exp, d.long = longMantissa(text[first:at], point)
	}
	if text[at]|0x20 == 'e' {
		exponent, after := scanExponent(text, at+1)
		if after == 0 {
			return decimal{}, start, false
		}
		d.exp += exponent
		at = after
	}
	return d, at, true
}

// scanDigits appends the digits at text[at:] to mant, which overflows behind
// the nineteenth.
func scanDigits(text []byte, at int, mant uint64) (uint64, int) {
	for {
		values, n := digitsOf(binary.LittleEndian.Uint64(text[at:]))
		if n == 8 {
			mant = mant*100000000 + joined(values)
			at += 8
			continue
		}
		if n > 0 {
			mant = mant*wholeTens[n] + joined(values<<(64-8*n))
		}
		return mant, at + n
	}
}

// scanExponent reads the digits behind an "e"; after is 0 where there are none.
// What is beyond any float64 is held at a limit.
func scanExponent(text []byte, at int) (exponent, after int) {
	const limit = 100000
	neg := text[at] == '-'
	if neg || text[at] == '+' {
		at++
	}
	first := at
	for ; text[at]-'0' <= 9; at++ {
		exponent = min(exponent*10+int(text[at]-'0'), limit)
	}
	if at == first {
		return 0, 0
	}
	if neg {
		exponent = -exponent
	}
	return exponent, at
}

// longMantissa reads the first nineteen digits, zeros in front left out; long
// tells whether others than zeros follow.
func longMantissa(number []byte, point byte) (mant uint64, exp int, long bool) {
	digits, fraction := 0, false
	for _, c := range number {
		switch {
		case c == point:
			fraction = true
			continue
		case digits < maxWholeTen:
			mant = mant*10 + uint64(c-'0')
			if mant > 0 {
				digits++
			}
			exp -= one(fraction)
		default:
			long = long || c != '0'
			exp += one(!fraction)
		}
	}
	return mant, exp, long
}

func one(is bool) int {
	if is {
		return 1
	}
	return 0
}

// float returns the float64 nearest to the number times 10^shift, the same as
// strconv.ParseFloat gives for it; text is where it was scanned from.
func (d decimal) float(shift int, text []byte, point byte) float64 {
	v := d.magnitude(shift, text, point)
	if d.neg {
		return -v
	}
	return v
}

func (d decimal) magnitude(shift int, text []byte, point byte) float64 {
	exp := d.exp + shift
	switch {
	case d.long:
		return parsedLong(text, point, shift)
	case d.mant < 1<<53 && 0 <= exp && exp <= maxExactTen:
		return float64(d.mant) * tens[exp]
	case d.mant < 1<<53 && -maxExactTen <= exp && exp < 0:
		return float64(d.mant) / tens[-exp]
	case -maxWholeTen <= exp && exp < 0:
		return quotient(d.mant, wholeTens[-exp])
	}
	return parsed(strconv.FormatUint(d.mant, 10), exp)
}

// quotient returns the float64 nearest to a ÷ b, both above 0: 64 bits of the
// quotient, the last one set where something remains, are rounded once.
func quotient(a, b uint64) float64 {
	shiftA, shiftB := bits.LeadingZeros64(a), bits.LeadingZeros64(b)
	high, low := a<<shiftA, uint64(0)
	b <<= shiftB
	if high >= b {
		high, low = high>>1, high<<63
		shiftA--
	}
	q, rest := bits.Div64(high, low, b)
	if rest != 0 {
		q |= 1
	}
	return math.Ldexp(float64(q), shiftB-shiftA-64)
}

// parsedLong leaves a number of more than nineteen digits to strconv.
func parsedLong(text []byte, point byte, shift int) float64 {
	at := 0
	if text[0] == '-' || text[0] == '+' {
		at++
	}
	var digits []byte
	exp := shift
	for ; at < len(text); at++ {
		switch c := text[at]; {
		case c == point:
			digits = append(digits, '.')
		case c|0x20 == 'e':
			exponent, _ := scanExponent(append(text[at+1:len(text):len(text)], 0), 0)
			return parsed(string(digits), exp+exponent)
		default:
			digits = append(digits, c)
		}
	}
	return parsed(string(digits), exp)
}

// parsed is ±Inf for what no float64 holds.
func parsed(digits string, exp int) float64 {
	v, _ := strconv.ParseFloat(digits+"e"+strconv.Itoa(exp), 64)
	return v
}
