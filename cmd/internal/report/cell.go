package report

import (
	"math"
	"strconv"

	"armcurve/captures"
)

// unknown stands on the screen for what was not measured or does not apply.
const unknown = "–"

func word(text string) Cell { return Cell{text, text} }

func voltCell(m captures.Maybe) Cell {
	if !m.Known {
		return Cell{Text: unknown}
	}
	return Cell{voltText(m.Value), exactly(m.Value)}
}

// voltText gives three significant digits, at most to the millivolt.
func voltText(v float64) string {
	decimals := 2
	switch {
	case v > 0 && v < 0.0005:
		return "< 0.001"
	case math.Abs(v) < 0.9995:
		decimals = 3
	case math.Abs(v) >= 99.95:
		decimals = 0
	case math.Abs(v) >= 9.995:
		decimals = 1
	}
	return strconv.FormatFloat(v, 'f', decimals, 64)
}

// marginCell rounds down: a margin is never shown larger than it is.
func marginCell(m captures.Maybe) Cell {
	if !m.Known {
		return Cell{Text: unknown}
	}
	return Cell{marginText(m.Value), exactly(m.Value)}
}

// mostMargin is where margins stop being counted on the screen.
const mostMargin = 1000

func marginText(v float64) string {
	if v >= mostMargin {
		return "over 999"
	}
	return strconv.FormatFloat(math.Floor(v*100+hair)/100, 'f', 2, 64)
}

// targetText rounds up: beside a margin that misses it, a target is the larger
// of the two.
func targetText(v float64) string {
	return strconv.FormatFloat(math.Ceil(v*100-hair)/100, 'f', 2, 64)
}

// hair is the rounding of a computation: 1.25 reached to it is 1.25.
const hair = 1e-9

// ratioText rounds to the nearest: a ratio is an estimate and no bound.
func ratioText(v float64) string { return strconv.FormatFloat(v, 'f', 2, 64) }

func rpmCell(rpm float64) Cell { return Cell{rpmText(rpm), exactly(rpm)} }

func rpmText(rpm float64) string { return strconv.FormatFloat(rpm, 'f', 0, 64) }

func exactly(v float64) string { return strconv.FormatFloat(v, 'g', -1, 64) }

// thresholdV is a threshold as it is typed in: a multiple of the step without
// the binary dust of the multiplication.
func thresholdV(m captures.Maybe) captures.Maybe {
	m.Value = math.Round(m.Value*1e9) / 1e9
	return m
}

func thresholdCell(m captures.Maybe, stepV float64) Cell {
	if !m.Known {
		return Cell{Text: "none"}
	}
	v := thresholdV(m).Value
	return Cell{strconv.FormatFloat(v, 'f', decimalsOf(stepV), 64), exactly(v)}
}

// decimalsOf is how many decimals a step needs, at least two and at most four.
func decimalsOf(stepV float64) int {
	for decimals := 2; decimals < 4; decimals++ {
		scaled := stepV * math.Pow10(decimals)
		if whole := math.Round(scaled); whole > 0 && math.Abs(scaled-whole) < 1e-6 {
			return decimals
		}
	}
	return 4
}
