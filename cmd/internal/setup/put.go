package setup

import (
	"strings"

	"armcurve/captures"
	"armcurve/threshold"
)

// anyNumber puts a finite number; its range is judged with the other options.
func anyNumber(example string, set func(place, float64)) func(place, any) error {
	return func(p place, value any) error {
		n, err := number(value, example)
		if err == nil {
			set(p, n)
		}
		return err
	}
}

func positive(example string, set func(place, float64)) func(place, any) error {
	return func(p place, value any) error {
		n, err := number(value, example)
		switch {
		case err != nil:
			return err
		case n <= 0:
			return wanted("a number above 0, such as " + example)
		}
		set(p, n)
		return nil
	}
}

// A factor beyond these is no probe's and no divider's.
const leastTimes, mostTimes = 0.001, 1000

func putVoltsTimes(p place, value any) error {
	n, err := number(value, "10")
	switch {
	case err != nil:
		return err
	case n < leastTimes || n > mostTimes:
		return wanted("a factor from 0.001 to 1000, such as 10")
	}
	p.captures.VoltsTimes = n
	return nil
}

func choice(words []string, set func(place, int)) func(place, any) error {
	return func(p place, value any) error {
		i, err := oneOf(value, words...)
		if err == nil {
			set(p, i)
		}
		return err
	}
}

func putWheel(p place, value any) error {
	text, ok := wordOrNumber(value)
	if !ok {
		return wanted("a wheel in quotes, such as \"36-1\"")
	}
	wheel, err := captures.ParseWheel(text)
	if err == nil {
		p.Wheel = wheel
	}
	return err
}

func putShaft(p place, value any) error {
	i, err := oneOf(value, captures.Crank, captures.Cam)
	if err == nil {
		p.Shaft = []string{captures.Crank, captures.Cam}[i]
	}
	return err
}

func putChannel(p place, value any) error {
	text, ok := wordOrNumber(value)
	if !ok || text == "" {
		return wanted("the name or the number of a channel")
	}
	p.Channel = text
	return nil
}

func putBetweenRows(p place, value any) error {
	kinds := []threshold.BetweenRows{threshold.Linear, threshold.Step}
	i, err := oneOf(value, kinds[0].String(), kinds[1].String())
	if err == nil {
		p.Options.Input.BetweenRows = kinds[i]
	}
	return err
}

const maxRows = 64

func putAt(p place, value any) error {
	speeds, err := numbers(value, "0, 200, 1000, 6500")
	switch {
	case err != nil:
		return err
	case len(speeds) < 2 || len(speeds) > maxRows:
		return wanted("2 to 64 speeds")
	}
	p.Axis.AtRPM = speeds
	return nil
}

func putRows(p place, value any) error {
	p.Axis.AtRPM = nil
	if text, ok := word(value); ok && text == "auto" {
		p.Axis.Auto = true
		return nil
	}
	n, err := number(value, "8")
	if err != nil || n != float64(int(n)) {
		return wanted("a whole number, such as 8, or auto")
	}
	p.Axis.Rows, p.Axis.Best, p.Axis.Auto = int(n), true, false
	return nil
}

func putAxisStep(p place, value any) error {
	n, err := number(value, "100")
	if err == nil {
		p.Axis.StepRPM, p.Axis.Fixed = n, true
	}
	return err
}

// putCranking takes a single speed for the upper end of a range: engines crank
// slower when cold or with a tired battery.
func putCranking(p place, value any) error {
	if rpm, err := number(value, ""); err == nil {
		p.CrankingLowRPM, p.CrankingRPM = 0.75*rpm, rpm
		return nil
	}
	from, to, ok := span(value)
	if !ok {
		return wanted("a speed such as 200, or a range such as \"150-200\"")
	}
	p.CrankingLowRPM, p.CrankingRPM = from, to
	return nil
}

func putInvert(p place, value any) error {
	if b, ok := value.(bool); ok {
		p.captures.Invert = b
		return nil
	}
	if text, isFlag := value.(flagText); isFlag && (text == "true" || text == "false") {
		p.captures.Invert = text == "true"
		return nil
	}
	return wanted("true or false")
}

func putSampleInterval(p place, value any) error {
	seconds, err := interval(value)
	if err == nil {
		p.captures.SampleIntervalS = captures.Some(seconds)
	}
	return err
}

func putDelimiter(p place, value any) error {
	delimiter, err := mark(value, []string{"comma", "semicolon", "tab", "space", "pipe"}, []rune{',', ';', '\t', ' ', '|'})
	if err == nil {
		p.captures.Dialect.Delimiter = delimiter
	}
	return err
}

func putDecimal(p place, value any) error {
	decimal, err := mark(value, []string{"point", "comma"}, []rune{'.', ','})
	if err == nil {
		p.captures.Dialect.Decimal = decimal
	}
	return err
}

// mark gives a mark written as its name or as itself.
func mark(value any, names []string, marks []rune) (rune, error) {
	text, _ := rawWord(value)
	text = strings.ReplaceAll(text, `\t`, "\t") // a shell hands \t over as it is
	for _, m := range marks {
		if text == string(m) {
			return m, nil
		}
	}
	i, err := oneOf(value, names...)
	if err != nil {
		return 0, err
	}
	return marks[i], nil
}

func putTimeUnit(p place, value any) error {
	unit, err := unitOf(value, "s", "ms", "us", "ns")
	if err == nil {
		p.captures.TimeUnit = unit
	}
	return err
}

func putVoltsUnit(p place, value any) error {
	unit, err := unitOf(value, "kV", "V", "mV", "uV")
	if err == nil {
		p.captures.VoltsUnit = unit
	}
	return err
}

// unitOf gives a unit as it is named here; both signs for micro are u.
func unitOf(value any, units ...string) (string, error) {
	text, _ := word(value)
	text = strings.NewReplacer("µ", "u", "μ", "u").Replace(text)
	for _, unit := range units {
		if strings.EqualFold(unit, text) {
			return unit, nil
		}
	}
	_, err := oneOf(value, units...)
	return "", err
}
