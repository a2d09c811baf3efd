package csvfile

import (
	"errors"
	"fmt"
	"math"
	"strconv"
	"strings"
)

// decimalOf finds the decimal mark of a file from its number cells: a comma
// only where the columns are separated by something else and the first number
// with a mark has one.
func decimalOf(delimiter rune, numbers []cell) rune {
	if delimiter == ',' {
		return '.'
	}
	for _, number := range numbers {
		comma, point := strings.Contains(number.text, ","), strings.Contains(number.text, ".")
		if comma != point {
			return map[bool]rune{true: ',', false: '.'}[comma]
		}
	}
	return '.'
}

// parseNumber reads a number as people write it, and nothing that only a
// program would: no hexadecimal, no 1_000, no infinity. The error says what is
// wanted.
func parseNumber(text string, decimal rune) (float64, error) {
	plain := text
	if decimal == ',' {
		if strings.Contains(text, ".") {
			return 0, errors.New("want a number with a decimal comma, as elsewhere in the file")
		}
		plain = strings.ReplaceAll(text, ",", ".")
	}
	rest, ok := cutNumber(plain)
	switch {
	case !ok:
		return 0, notNumber(text)
	case rest != "":
		return 0, afterNumber(rest)
	}
	value, err := strconv.ParseFloat(plain, 64)
	if err != nil || math.IsInf(value, 0) {
		return 0, errNotFinite
	}
	return value, nil
}

// cutNumber takes a decimal number off the front of the text; ok tells whether
// there is one.
func cutNumber(text string) (rest string, ok bool) {
	rest = strings.TrimLeft(text, "+-")
	if len(text)-len(rest) > 1 {
		return text, false
	}
	rest, whole := cutDigits(rest)
	var fraction int
	if after, found := strings.CutPrefix(rest, "."); found {
		rest, fraction = cutDigits(after)
	}
	if whole+fraction == 0 {
		return text, false
	}
	if exponent := strings.TrimLeft(rest, "eE"); len(rest)-len(exponent) == 1 {
		unsigned := strings.TrimLeft(exponent, "+-")
		if after, digits := cutDigits(unsigned); digits > 0 && len(exponent)-len(unsigned) <= 1 {
			rest = after
		}
	}
	return rest, true
}

func cutDigits(text string) (rest string, digits int) {
	rest = strings.TrimLeft(text, "0123456789")
	return rest, len(text) - len(rest)
}

// What is wanted instead of the marks that instruments and people put where
// they have no number.
var (
	errNoNumber  = errors.New("want a number")
	errNotFinite = errors.New("want a finite number")
)

func notNumber(text string) error {
	switch strings.ToLower(strings.TrimLeft(text, "+-")) {
	case "inf", "infinity", "∞", "nan":
		return errNotFinite
	}
	return errNoNumber
}

// afterNumber says what is wrong with the text behind a number.
func afterNumber(rest string) error {
	switch {
	case strings.HasPrefix(rest, ","):
		return errors.New("want a number with a decimal point")
	case strings.HasPrefix(rest, "_"):
		return errors.New("want a number without _")
	case strings.HasPrefix(rest, "."):
		return errors.New("want a number with one decimal mark")
	case isDigits(strings.TrimSpace(rest)):
		return errors.New("want a number without spaces")
	case rest[0] == 'x' || rest[0] == 'X':
		return errors.New("want a decimal number")
	case strings.TrimSpace(rest) == "%":
		return errors.New("want the bare number, a part of 1: 40 % is 0.4")
	}
	return errors.New("want the bare number, without a unit")
}

// groupedThousands tells whether a speed looks like "1.000" or "6,500" with a
// mark between thousands, which would be read as 1 and 6.5.
func groupedThousands(text string) bool {
	whole, thousands, found := strings.Cut(text, ".")
	if !found {
		whole, thousands, found = strings.Cut(text, ",")
	}
	return found && len(thousands) == 3 && (len(whole) == 1 || len(whole) == 2) &&
		whole[0] != '0' && isDigits(whole) && isDigits(thousands)
}

func isDigits(text string) bool {
	rest, digits := cutDigits(text)
	return rest == "" && digits > 0
}

// shown quotes a cell for a message, shortened if it is long.
func shown(text string) string {
	const longest = 40
	if runes := []rune(text); len(runes) > longest {
		text = string(runes[:longest]) + "…"
	}
	return fmt.Sprintf("%q", text)
}
