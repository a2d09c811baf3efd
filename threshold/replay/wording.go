package replay

import (
	"fmt"
	"math"
	"strconv"
	"strings"
)

// plain writes a count.
func plain(n int) string { return strconv.Itoa(n) }

// counted writes a count with its noun.
func counted(n int, noun string) string {
	if n == 1 {
		return "1 " + noun
	}
	return plain(n) + " " + noun + "s"
}

// volts writes a voltage with three digits.
func volts(v float64) string {
	if v == 0 || math.Abs(v) < 0.0005 {
		return "0 V"
	}
	return digits(v) + " V"
}

func digits(v float64) string {
	places := max(0, 2-int(math.Floor(math.Log10(math.Abs(v)))))
	return strconv.FormatFloat(v, 'f', min(places, 6), 64)
}

func speed(rpm float64) string { return fmt.Sprintf("%.0f rpm", rpm) }

func percent(share float64) string { return fmt.Sprintf("%.0f %%", 100*share) }

// between writes where some faults happened.
func (h hits) between() string { return span(h.speeds()) }

// span writes a range of speeds; that of a standing engine is 0.
func span(low, high float64) string {
	switch {
	case high < 1:
		return "with the engine standing"
	case low < 1:
		return "from standstill to " + speed(high)
	case high-low < 0.02*high:
		return "at " + speed(high)
	}
	return fmt.Sprintf("from %.0f to %s", low, speed(high))
}

// lowerFirst lets a sentence go on from another.
func lowerFirst(text string) string { return strings.ToLower(text[:1]) + text[1:] }

// toothNames names teeth by their numbers.
func toothNames(teeth []int) string {
	names := make([]string, len(teeth))
	for i, k := range teeth {
		names[i] = "tooth " + plain(k)
	}
	return strings.Join(names, " and ")
}
