package csvfile

import (
	"bytes"
	"fmt"
	"math"
	"slices"
	"strings"

	"armcurve/captures"
)

// readVolts finds the unit of a channel, as a power of ten of volts, and what
// the file says of the numbers' scale.
func (l *layout) readVolts(c int, o SamplesOptions) (exp int, doubts []captures.Finding, err error) {
	exp, err = l.voltsUnit(c, o)
	if err == nil {
		err = l.countsAsVolts(c, o)
	}
	if err == nil {
		doubts, err = l.attenuation(c, exp, o)
	}
	return exp, append(doubts, l.coupling()...), err
}

func (l *layout) voltsUnit(c int, o SamplesOptions) (exp int, err error) {
	name := l.units[c]
	if n, found := l.find(isVerticalUnitKey); found && name == "" {
		name = n.value
	}
	u, known := unitOf(name)
	switch {
	case o.VoltsUnit != "":
		if u, known := unitOf(o.VoltsUnit); known && u.of == voltage {
			return u.exp, nil
		}
		return 0, problem(captures.Pos{File: l.file}, "", "volts unit is %s; want V, mV, uV or kV", shown(o.VoltsUnit))
	case known && u.of == voltage:
		return u.exp, nil
	case name == "", isCounts(name) && o.scales():
		return 0, nil
	case isCounts(name):
		return 0, l.countsProblem(c, "is in "+name)
	}
	return 0, problem(l.at(l.first), "give --volts-unit V, mV, uV or kV",
		"channel %q is in %s; want volts", l.channelName(c), shown(name))
}

// unitWords says what a channel's numbers are taken for.
func (l *layout) unitWords(c int, o SamplesOptions) string {
	switch {
	case o.VoltsUnit != "":
		return o.VoltsUnit + " as stated"
	case strings.HasSuffix(l.units[c], "v"): // of a name such as crank_mv
		return strings.TrimSuffix(l.units[c], "v") + "V"
	case l.units[c] != "":
		return l.units[c]
	}
	if n, found := l.find(isVerticalUnitKey); found {
		return n.value
	}
	return "V, no unit in the file"
}

// scales tells that a factor was given.
func (o SamplesOptions) scales() bool { return o.VoltsTimes != 0 && o.VoltsTimes != 1 }

// countsAsVolts refuses bare whole numbers under a header that states volts
// per division: they may be the converter's counts.
func (l *layout) countsAsVolts(c int, o SamplesOptions) error {
	n, stated := l.find(isVoltsPerDivisionKey)
	if !stated || l.units[c] != "" || o.VoltsUnit != "" || o.scales() || !l.isWhole(c) {
		return nil
	}
	return l.countsProblem(c, fmt.Sprintf("has whole numbers only, and line %d states %s %s", n.line+1, n.key, n.value))
}

func (l *layout) countsProblem(c int, why string) error {
	return problem(l.at(l.first), "give --volts-unit V if the numbers are volts, or --volts-times with the volts of one count",
		"channel %q %s; want to know whether its numbers are volts or counts of the converter", l.channelName(c), why)
}

// isWhole tells a column without a fraction.
func (l *layout) isWhole(c int) bool {
	return !slices.ContainsFunc(l.rows, func(row gridRow) bool {
		v := row.at(c)
		return v.as == asNumber && (v.number.exp != 0 || v.unit.of != noDimension)
	})
}

// attenuation compares what the header notes of the probe with the factor
// asked for: both at once may be one too many.
func (l *layout) attenuation(c, exp int, o SamplesOptions) ([]captures.Finding, error) {
	n, ratio := l.probeNote(c)
	if ratio == 1 {
		return nil, nil
	}
	if !o.scales() {
		return []captures.Finding{{Kind: "unit-doubt", Severity: captures.Note,
			Text:   fmt.Sprintf("%s:%d: the header notes a probe factor of %g; the numbers were taken as holding it", l.file, n.line+1, ratio),
			Advice: fmt.Sprintf("if they do not, give --volts-times %g", ratio)}}, nil
	}
	if o.VoltsUnit != "" {
		return nil, nil
	}
	largest := l.largest(c, exp)
	return nil, problem(l.at(n.line), fmt.Sprintf("leave out --volts-times if the numbers hold the probe factor; add --volts-unit %s if they do not", orVolts(l.units[c])),
		"found a probe factor of %g in the header, and --volts-times is %g: the largest of the first samples is %.4g V as written and %.4g V multiplied; want to know which",
		ratio, o.VoltsTimes, largest, largest*o.VoltsTimes)
}

func orVolts(name string) string {
	if name == "" {
		return "V"
	}
	return name
}

// probeNote finds the probe's factor, the one of the channel if there are
// several; 1 where none is stated.
func (l *layout) probeNote(c int) (n headNote, ratio float64) {
	ratio = 1
	name := strings.ToLower(l.names[c])
	for _, note := range l.notes {
		r, ok := readRatio(note.value)
		if !ok || !isAttenuationKey(note.key) {
			continue
		}
		if name != "" && slices.Contains(strings.Fields(note.key), name) {
			return note, r
		}
		if ratio == 1 {
			n, ratio = note, r
		}
	}
	return n, ratio
}

// readRatio reads a probe factor: "10", "10X", "x10", "10:1" or "1:10".
func readRatio(text string) (ratio float64, ok bool) {
	text = strings.Trim(strings.ToLower(text), " x×")
	text = strings.TrimPrefix(strings.TrimSuffix(text, ":1"), "1:")
	v := readCell([]byte(strings.TrimSpace(text)), '.')
	ratio = 1
	if v.as == asNumber {
		ratio = v.float(0)
	}
	return ratio, v.as == asNumber && v.unit.of == noDimension && ratio >= 1e-3 && ratio <= 1e5
}

func (l *layout) largest(c, exp int) float64 {
	largest := 0.0
	for _, row := range l.rows {
		if v := row.at(c); v.as == asNumber {
			largest = max(largest, math.Abs(v.float(exp)))
		}
	}
	return largest
}

// coupling warns where the header says that the input was AC-coupled.
func (l *layout) coupling() []captures.Finding {
	n, found := l.find(isCouplingKey)
	if !found || !bytes.HasPrefix(bytes.ToLower([]byte(n.value)), []byte("ac")) {
		return nil
	}
	return []captures.Finding{{Kind: "ac-coupled", Severity: captures.Warning,
		Text:   fmt.Sprintf("%s:%d: the header says that the input was AC-coupled, which moves the rest level and makes slow teeth smaller", l.file, n.line+1),
		Advice: "record with DC coupling"}}
}
