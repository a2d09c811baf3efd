package report

import (
	"math"
	"strconv"
)

// tick is a place on an axis.
type tick struct {
	at    float64
	text  string // empty for a lesser one
	still bool   // the place of 0 beside an axis of ratios
}

// mostTicks is how many labels an axis bears.
const mostTicks = 8

// evenTicks are the multiples of a round step from a value to another, about
// so many at most.
func evenTicks(from, to float64, most int) []tick {
	step := roundStep((to - from) / float64(most))
	return multiples(step, from, to)
}

// multiples of a step, written with the decimals it needs.
func multiples(step, from, to float64) []tick {
	decimals := max(0, -int(math.Floor(math.Log10(step)+1e-9)))
	var list []tick
	first, last := math.Ceil(from/step-1e-9), math.Floor(to/step+1e-9)
	for i := 0.0; first+i <= last && i <= 4*mostTicks; i++ {
		list = append(list, tick{at: (first + i) * step, text: strconv.FormatFloat((first+i)*step+0, 'f', decimals, 64)})
	}
	return list
}

// roundStep is the least of 1, 2 and 5 times a power of ten that is not under
// a width.
func roundStep(width float64) (step float64) {
	if !(width > 0) || math.IsInf(width, 0) {
		return 1
	}
	power := int(math.Floor(math.Log10(width)))
	for _, digit := range []int{1, 2, 5, 10} {
		if step = decimal(digit, power); step >= width*(1-1e-9) {
			break
		}
	}
	return step
}

// widen moves both ends out to round steps.
func widen(from, to float64) (float64, float64) {
	step := roundStep((to - from) / mostTicks)
	return math.Floor(from/step+1e-9) * step, math.Ceil(to/step-1e-9) * step
}

// ratioTicks are the digits times powers of ten, labelled as densely as an axis
// bears: every digit, 1, 2 and 5, 1 alone, or the 1 of every so many powers. A
// narrow axis is divided evenly.
func ratioTicks(from, to float64) []tick {
	powers := int(math.Ceil(math.Log10(to / from)))
	labelled := []func(digit, power int) bool{
		func(int, int) bool { return true },
		func(digit, _ int) bool { return digit == 1 || digit == 2 || digit == 5 },
		func(digit, _ int) bool { return digit == 1 },
		func(digit, power int) bool { return digit == 1 && power%(powers/mostTicks+1) == 0 },
	}
	for i, choice := range labelled {
		list, labels := digits(from, to, choice)
		switch {
		case labels < 3 && i == 0:
			return evenTicks(from, to, mostTicks)
		case labels <= mostTicks+1 || i == len(labelled)-1:
			return list
		}
	}
	return nil
}

func digits(from, to float64, labelled func(digit, power int) bool) (list []tick, labels int) {
	for power := int(math.Floor(math.Log10(from))); power <= int(math.Ceil(math.Log10(to))); power++ {
		for digit := 1; digit <= 9; digit++ {
			at := decimal(digit, power)
			if at < from*(1-1e-9) || at > to*(1+1e-9) {
				continue
			}
			t := tick{at: at}
			if labelled(digit, power) {
				t.text = strconv.FormatFloat(at, 'f', -1, 64)
				labels++
			}
			list = append(list, t)
		}
	}
	return list, labels
}

// decimal is digit·10^power, to the last bit.
func decimal(digit, power int) float64 {
	if power < 0 {
		return float64(digit) / math.Pow10(-power)
	}
	return float64(digit) * math.Pow10(power)
}

// widenRatio moves both ends out to 1, 2 or 5 times a power of ten.
func widenRatio(from, to float64) (low, high float64) {
	low, high = from, to
	for power := int(math.Floor(math.Log10(from))); ; power++ {
		for _, digit := range []int{1, 2, 5} {
			at := decimal(digit, power)
			if at <= from*(1+1e-9) {
				low = at
			}
			if at >= to*(1-1e-9) && at > low {
				return low, at
			}
		}
	}
}
