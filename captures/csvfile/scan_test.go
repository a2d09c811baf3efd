package csvfile

import (
	"fmt"
	"math"
	"math/rand/v2"
	"strconv"
	"strings"
	"testing"
)

// scanned reads a whole text as one number times 10^shift.
func scanned(text string, point byte, shift int) (float64, bool) {
	padded := append([]byte(text), make([]byte, padding)...)
	d, end, ok := scanDecimal(padded, 0, point)
	if !ok || end != len(text) {
		return 0, false
	}
	return d.float(shift, padded[:end], point), true
}

func TestScanDecimalAgreesWithStrconv(t *testing.T) {
	for _, text := range []string{
		"0", "-0", "+0", "1", "-1.5", ".5", "5.", "00012.500", "1e5", "1E-5", "+1.2e+00", "-.5e3",
		"9007199254740991", "9007199254740992", "9007199254740993", "9007199254740993.5",
		"123456789012345678", "1234567890123456789", "12345678901234567890", "0.1234567890123456789",
		"1.234567890123456789e-01", "1.234567890123456789e-25", "8.5e-320", "4.9e-324", "2e-324",
		"1.7976931348623157e308", "1.7976931348623159e308", "1e400", "-1e400", "1e-400",
		"0.00000000000000000000000000000123456789012345678901", "1" + strings.Repeat("0", 300),
		"0." + strings.Repeat("0", 300) + "1", "18446744073709551615", "18446744073709551616",
		"1e99999999999", "0e99999999999", "1.00000000000000011102230246251565", "12345678.87654321",
	} {
		want, _ := strconv.ParseFloat(text, 64)
		got, ok := scanned(text, '.', 0)
		if !ok || math.Float64bits(got) != math.Float64bits(want) {
			t.Errorf("%s gives %v, %v, want %v", text, got, ok, want)
		}
	}
}

func TestScanDecimalRefuses(t *testing.T) {
	for _, text := range []string{"", "-", ".", "+.", "e5", "1e", "1e+", "0x10", "1_000", "inf", "nan", "1,5", "--1", "1.2.3", " 1"} {
		if v, ok := scanned(text, '.', 0); ok {
			t.Errorf("%q gives %v", text, v)
		}
	}
}

// Numbers as instruments and programs write them, in every format there is.
func TestScanDecimalOnRandomNumbers(t *testing.T) {
	rng := rand.New(rand.NewPCG(1, 2))
	for range 200000 {
		v := math.Ldexp(rng.Float64()-0.5, rng.IntN(120)-60)
		text := strconv.FormatFloat(v, "fegEG"[rng.IntN(5)], rng.IntN(22)-1, 64)
		want, _ := strconv.ParseFloat(text, 64)
		if got, ok := scanned(text, '.', 0); !ok || got != want {
			t.Fatalf("%s gives %v, %v, want %v", text, got, ok, want)
		}
	}
}

// A unit moves the decimal point only: 1234.5 mV is what 1.2345 V is.
func TestShiftIsExact(t *testing.T) {
	rng := rand.New(rand.NewPCG(3, 4))
	for range 50000 {
		digits := rng.Uint64() >> rng.IntN(60)
		exp, shift := rng.IntN(30)-20, rng.IntN(19)-9
		text := fmt.Sprintf("%de%d", digits, exp)
		want, _ := strconv.ParseFloat(fmt.Sprintf("%de%d", digits, exp+shift), 64)
		if got, ok := scanned(text, '.', shift); !ok || got != want {
			t.Fatalf("%s × 10^%d gives %v, %v, want %v", text, shift, got, ok, want)
		}
	}
}

func FuzzScanDecimal(f *testing.F) {
	for _, text := range []string{"1.2345", "-0.0123", "1.234567890123456789e-01", "9.9E+37", "00000000000000000000.5", "1,5"} {
		f.Add(text, true, 0)
		f.Add(text, false, -3)
	}
	f.Fuzz(func(t *testing.T, text string, comma bool, shift int) {
		if strings.ContainsAny(text, "xX_pPnNiI") || shift < -400 || shift > 400 {
			return // what only strconv takes
		}
		point, plain := byte('.'), text
		if comma {
			if strings.Contains(text, ".") {
				return
			}
			point, plain = ',', strings.ReplaceAll(text, ",", ".")
		}
		want, err := strconv.ParseFloat(plain, 64)
		valid := err == nil || math.IsInf(want, 0)
		got, ok := scanned(text, point, 0)
		if ok != valid || ok && math.Float64bits(got) != math.Float64bits(want) {
			t.Fatalf("%q gives %v, %v, want %v, %v", text, got, ok, want, err)
		}
		if mantissa, exponent, _ := strings.Cut(strings.ToLower(plain), "e"); ok && len(exponent) < 6 {
			e, _ := strconv.Atoi(exponent)
			want, _ := strconv.ParseFloat(mantissa+"e"+strconv.Itoa(e+shift), 64)
			if got, _ := scanned(text, point, shift); math.Float64bits(got) != math.Float64bits(want) {
				t.Fatalf("%q × 10^%d gives %v, want %v", text, shift, got, want)
			}
		}
	})
}
