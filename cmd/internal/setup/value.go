package setup

import (
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"
)

// A value is what TOML gives (int64, float64, string, bool, []any, dates) or
// the text of a flag.

// flagText is a value given by a flag, where numbers come as text.
type flagText string

// wanted says what a value should be; the one who knows what was found and
// where puts that before it.
type wanted string

func (w wanted) Error() string { return "want " + string(w) }

// show gives a value as it was written, for a message.
func show(value any) string {
	switch v := value.(type) {
	case string:
		return strconv.Quote(v)
	case flagText:
		return strconv.Quote(string(v))
	case []any:
		shown := make([]string, len(v))
		for i, item := range v {
			shown[i] = show(item)
		}
		return "[" + strings.Join(shown, ", ") + "]"
	case map[string]any:
		return "a table"
	}
	return fmt.Sprint(value)
}

// number gives a finite number; example is one as the setting wants it.
func number(value any, example string) (float64, error) {
	want := wanted("a number, such as " + example)
	switch v := value.(type) {
	case int64:
		return float64(v), nil
	case float64:
		if math.IsNaN(v) || math.IsInf(v, 0) {
			return 0, wanted("a finite number, such as " + example)
		}
		return v, nil
	case string:
		if _, ok := parseNumber(v); ok {
			return 0, wanted("a number without quotes, such as " + example)
		}
	case flagText:
		if n, ok := parseNumber(string(v)); ok {
			return n, nil
		}
	}
	return 0, want
}

// parseNumber reads a plain decimal number.
func parseNumber(text string) (float64, bool) {
	text = strings.TrimSpace(text)
	if strings.Trim(text, "0123456789.eE+-") != "" {
		return 0, false
	}
	n, err := strconv.ParseFloat(text, 64)
	return n, err == nil
}

// rawWord gives a text with its spaces.
func rawWord(value any) (string, bool) {
	switch v := value.(type) {
	case string:
		return v, true
	case flagText:
		return string(v), true
	}
	return "", false
}

// word gives a text without spaces around it.
func word(value any) (string, bool) {
	text, ok := rawWord(value)
	return strings.TrimSpace(text), ok
}

// wordOrNumber gives a text that may be written as a whole number, as a
// channel's number or a wheel without a gap.
func wordOrNumber(value any) (string, bool) {
	if n, isNumber := value.(int64); isNumber {
		return strconv.FormatInt(n, 10), true
	}
	return word(value)
}

// oneOf gives the index of the word among the choices.
func oneOf(value any, choices ...string) (int, error) {
	if text, ok := word(value); ok {
		if i := slices.Index(choices, strings.ToLower(text)); i >= 0 {
			return i, nil
		}
	}
	last := len(choices) - 1
	return 0, wanted(strings.Join(choices[:last], ", ") + " or " + choices[last])
}

// numbers gives a list, written as a TOML array or with commas in a text.
func numbers(value any, example string) ([]float64, error) {
	var items []any
	switch v := value.(type) {
	case []any:
		items = v
	case string, flagText:
		text, _ := word(v)
		for part := range strings.SplitSeq(text, ",") {
			items = append(items, flagText(part))
		}
	default:
		return nil, wanted("a list of numbers, such as " + example)
	}
	list := make([]float64, len(items))
	for i, item := range items {
		n, err := number(item, example)
		if err != nil {
			return nil, wanted("a list of numbers, such as " + example)
		}
		list[i] = n
	}
	return list, nil
}

// span gives a range written as 150-200 or [150, 200].
func span(value any) (from, to float64, ok bool) {
	ends, _ := value.([]any)
	if text, isText := word(value); isText {
		low, high, _ := strings.Cut(strings.ReplaceAll(text, "–", "-"), "-")
		ends = []any{flagText(low), flagText(high)}
	}
	if len(ends) != 2 {
		return 0, 0, false
	}
	from, fromErr := number(ends[0], "")
	to, toErr := number(ends[1], "")
	return from, to, fromErr == nil && toErr == nil
}

// units of time and frequency, longest names first so that "kHz" is not taken
// for "Hz".
var units = []struct {
	name    string
	seconds func(n float64) float64
}{
	{"khz", func(n float64) float64 { return 1 / (n * 1e3) }},
	{"mhz", func(n float64) float64 { return 1 / (n * 1e6) }},
	{"hz", func(n float64) float64 { return 1 / n }},
	{"ms", func(n float64) float64 { return n / 1e3 }},
	{"us", func(n float64) float64 { return n / 1e6 }},
	{"µs", func(n float64) float64 { return n / 1e6 }},
	{"ns", func(n float64) float64 { return n / 1e9 }},
	{"s", func(n float64) float64 { return n }},
}

// interval gives the seconds between samples from a number of seconds, a time
// with its unit or a rate with its unit.
func interval(value any) (seconds float64, err error) {
	want := wanted("seconds above 0, a time such as 4us, or a rate such as 250kHz")
	seconds, err = number(value, "")
	if text, ok := word(value); ok && err != nil {
		seconds, err = withUnit(strings.ToLower(strings.ReplaceAll(text, "μ", "µ")))
	}
	if err != nil || !(seconds > 0) || math.IsInf(seconds, 0) {
		return 0, want
	}
	return seconds, nil
}

func withUnit(text string) (seconds float64, err error) {
	for _, unit := range units {
		if digits, found := strings.CutSuffix(text, unit.name); found {
			n, err := number(flagText(digits), "")
			return unit.seconds(n), err
		}
	}
	return 0, wanted("a unit")
}
