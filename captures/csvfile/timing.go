package csvfile

import (
	"errors"
	"fmt"
	"math"
	"slices"

	"armcurve/captures"
)

// timing says when the samples were taken.
type timing struct {
	startS, stepS float64
	column        int // that tells the time or counts the samples; −1 where none is looked at
	decimals      int // ticks of that column are 10^−decimals of its unit
	beat          beat
	tickS         float64
	pairs         bool // two rows for each time, the lowest and the highest value
	words         string
	doubts        []captures.Finding
}

// Steps that a recording of a wheel can have, in seconds: longer or shorter ones are
// a unit that was misread, or no time at all.
const (
	leastStepS = 1e-10
	mostStepS  = 1
)

// readTiming finds the time from row to row, one that is possible.
func (l *layout) readTiming(o SamplesOptions, text *textStream) (*timing, error) {
	t, err := l.findTiming(o, text)
	if err != nil || t.stepS >= leastStepS && t.stepS <= mostStepS {
		return t, err
	}
	return nil, problem(l.at(l.rowLines[0]), "give --sample-interval, in seconds or as a rate such as 250kHz",
		"found a step of %.3g s from row to row; want %g to %g s", t.stepS, leastStepS, float64(mostStepS))
}

// findTiming takes the step as stated in the options, from the column of time, or
// from the header.
func (l *layout) findTiming(o SamplesOptions, text *textStream) (*timing, error) {
	column := l.timeOf(l.chosen[0])
	header, inHeader := l.headerInterval()
	switch {
	case o.SampleIntervalS.Known:
		return l.statedTiming(o, column)
	case column >= 0:
		return l.columnTiming(o, column, text)
	case inHeader:
		return l.headerTiming(header)
	}
	what := "found neither a column of time nor a sample interval in the header"
	if l.index >= 0 {
		what = "found a column that numbers the samples, but no sample interval in the header"
	}
	return nil, problem(captures.Pos{File: l.file}, "give --sample-interval, in seconds or as a rate such as 250kHz", "%s", what)
}

// statedTiming believes the option and looks at the column of time for the
// start only.
func (l *layout) statedTiming(o SamplesOptions, column int) (*timing, error) {
	t := &timing{stepS: o.SampleIntervalS.Value, column: -1, startS: l.headerStart()}
	if !(t.stepS > 0) || math.IsInf(t.stepS, 0) {
		return nil, problem(captures.Pos{File: l.file}, "", "sample interval is %g s; want more than 0", t.stepS)
	}
	t.words = "step " + perSecond(t.stepS) + " as stated"
	if column < 0 {
		return t, nil
	}
	if read, err := l.columnTiming(o, column, nil); err == nil {
		t.startS = read.startS
		if math.Abs(read.stepS/t.stepS-1) > 0.01 {
			t.words += ", the column of time says " + perSecond(read.stepS)
		}
	}
	return t, nil
}

// headerTiming takes the step from the header; a column that numbers the
// samples then tells of missing ones.
func (l *layout) headerTiming(stepS float64) (*timing, error) {
	t := &timing{stepS: stepS, column: l.index, startS: l.headerStart(), tickS: stepS,
		words: "step " + perSecond(stepS) + " from the header"}
	if l.index >= 0 {
		t.beat = beat{ticks: 1, rounding: 0}
	}
	return t, nil
}

// headerInterval is the time from sample to sample that the header states, in
// seconds.
func (l *layout) headerInterval() (seconds float64, ok bool) {
	if v, _, found := l.quantity(isIntervalKey, l.point); found {
		seconds, ok = secondsOf(v, l.horizontalUnit())
	}
	if !ok {
		if v, _, found := l.quantity(isRateKey, l.point); found {
			seconds, ok = secondsOf(v, unit{of: frequency})
		}
	}
	return seconds, ok
}

// secondsOf is the interval that a duration or a rate stands for; the unit is
// that of a bare number.
func secondsOf(v cellValue, bare unit) (seconds float64, ok bool) {
	u := v.unit
	if u.of == noDimension {
		u = bare
	}
	seconds = v.float(u.exp)
	if u.of == frequency {
		seconds = 1 / seconds
	}
	return seconds, u.of != voltage && seconds > 0 && !math.IsInf(seconds, 0)
}

// horizontalUnit is the unit of time that the header states, else seconds.
func (l *layout) horizontalUnit() unit {
	if n, found := l.find(isHorizontalUnitKey); found {
		if u, known := unitOf(n.value); known && u.of == duration {
			return u
		}
	}
	return unit{of: duration}
}

func (l *layout) headerStart() (seconds float64) {
	v, _, found := l.quantity(isStartKey, l.point)
	if !found || v.unit.of != noDimension && v.unit.of != duration {
		return 0
	}
	if seconds = v.float(l.horizontalUnit().exp); math.IsInf(seconds, 0) {
		return 0
	}
	return seconds
}

// columnTiming takes start and step from a column of time.
func (l *layout) columnTiming(o SamplesOptions, column int, text *textStream) (*timing, error) {
	u, unitWords, err := l.timeUnit(o, column)
	if err != nil {
		return nil, err
	}
	t := &timing{column: column}
	if err := t.findBeat(l, column); err != nil {
		return nil, err
	}
	t.tickS = decimal{mant: 1, exp: -t.decimals}.float(u.exp, nil, 0)
	t.settleStep(l, text)
	t.startS = t.startOf(l.ticksOf(column, t.decimals)[0])
	if err := l.sameTimes(t); err != nil {
		return nil, err
	}
	if unitWords == "" && t.stepS > longestBareStepS {
		return nil, problem(l.at(l.first), "give --time-unit s, ms, us or ns",
			"column %q has no unit and its step is %.6g; want to know of what", l.channelName(column), t.stepS)
	}
	if unitWords == "" {
		unitWords = "s, no unit in the file"
	}
	t.words = fmt.Sprintf("time in %s, step %s", unitWords, perSecond(t.stepS))
	if t.beat.uneven > t.beat.ticks/4 {
		t.doubts = append(t.doubts, captures.Finding{Kind: "uneven-steps", Severity: captures.Warning,
			Text: fmt.Sprintf("%s: single times are %.0f %% of a step and more off their places; samples were taken as evenly spaced", l.file, 100*t.beat.uneven/t.beat.ticks)})
	}
	return t, nil
}

// longestBareStepS is the longest step for which a column of time without a
// unit is taken for seconds: slower, and no reluctor could be seen.
const longestBareStepS = 1.0000001e-3

// timeUnit is the unit of a column of time: as stated, in its cells, in its
// name, or in the header; words is "" for none.
func (l *layout) timeUnit(o SamplesOptions, column int) (u unit, words string, err error) {
	first := l.rows[0].at(column)
	name := l.units[column]
	if n, found := l.find(isHorizontalUnitKey); found && name == "" {
		name = n.value
	}
	switch {
	case o.TimeUnit != "":
		if u, known := unitOf(o.TimeUnit); known && u.of == duration {
			return u, o.TimeUnit + " as stated", nil
		}
		return unit{}, "", problem(captures.Pos{File: l.file}, "", "time unit is %s; want s, ms, us or ns", shown(o.TimeUnit))
	case first.as == asClock:
		return unit{of: duration}, "hours, minutes and seconds", nil
	case first.unit.of == duration:
		return unit{of: duration}, "s", nil
	case name != "":
		if u, known := unitOf(name); known && u.of == duration {
			return u, name, nil
		}
		return unit{}, "", problem(l.at(l.first), "give --time-unit s, ms, us or ns",
			"column %q is in %s; want a unit of time", l.channelName(column), shown(name))
	}
	return sinceEpoch(first.float(0))
}

// sinceEpoch tells the unit of times since 1970, none for others.
func sinceEpoch(t float64) (u unit, words string, err error) {
	switch {
	case t >= 1e17 && t < 1e20:
		return unit{duration, -9}, "ns since 1970", nil
	case t >= 1e14 && t < 1e17:
		return unit{duration, -6}, "µs since 1970", nil
	case t >= 1e11 && t < 1e14:
		return unit{duration, -3}, "ms since 1970", nil
	case t >= 1e9 && t < 1e10:
		return unit{duration, 0}, "s since 1970", nil
	}
	return unit{of: duration}, "", nil
}

// findBeat finds the step in ticks fine enough to see it. Two equal times in
// each pair of rows are one step.
func (t *timing) findBeat(l *layout, column int) error {
	const ticksInStep = 4 // as a power of ten
	t.decimals = min(l.decimalsOf(column), 18-wholeDigits(l.rows, column))
	doubled := false
	for range 2 {
		times := l.ticksOf(column, t.decimals)
		doubled = areDoubled(times)
		if doubled {
			times = slices.Compact(times)
		}
		b, at, err := findBeat(times)
		if err != nil {
			return l.timeProblem(column, at*(1+one(doubled)), err)
		}
		t.beat = b
		t.decimals -= max(0, min(t.decimals, int(math.Log10(b.ticks))-ticksInStep))
	}
	t.pairs = doubled && l.areEnvelopes()
	if doubled {
		t.beat.ticks /= 2
		t.beat.within /= 2
		t.beat.rounding += t.beat.ticks
	}
	return nil
}

// wholeDigits is how many digits the largest number of a column has before the
// decimal mark.
func wholeDigits(rows []gridRow, c int) int {
	largest := 1.0
	for _, row := range rows {
		if v := row.at(c); v.as == asNumber {
			largest = max(largest, math.Abs(v.float(0)))
		}
	}
	return int(min(math.Ceil(math.Log10(largest)), 400))
}

const evenHint = "export with a fixed sample interval, or give --sample-interval to take the rows as evenly spaced"

// timeProblem words what is wrong with a column of time.
func (l *layout) timeProblem(column, row int, err error) error {
	name := l.channelName(column)
	pos := l.at(l.rowLines[min(row, len(l.rowLines)-1)])
	switch {
	case errors.Is(err, errOneSample):
		return problem(pos, "export the whole recording, two turns of the engine or more", "found one row; want a recording of many")
	case errors.Is(err, errBackwards):
		return problem(pos, evenHint, "column %q runs backwards; want rising times", name)
	case errors.Is(err, errStands):
		return problem(pos, evenHint, "column %q stands still; want rising times", name)
	}
	return problem(pos, evenHint, "column %q has steps that differ; want a fixed step", name)
}

// settleStep takes the roundest step that the times allow; where that says
// little, the end of the file narrows it down.
func (t *timing) settleStep(l *layout, text *textStream) {
	step, sure := roundest(t.beat.ticks*t.tickS, t.beat.within*t.tickS)
	if !sure && text != nil && text.plain != nil && !text.whole && !t.pairs {
		if rows, last, err := countedRows(text.plain, l.first); err == nil {
			t.narrow(l, rows, last)
			step, _ = roundest(t.beat.ticks*t.tickS, t.beat.within*t.tickS)
		}
	}
	t.stepS = step
	t.beat.ticks = step / t.tickS
}

func (t *timing) narrow(l *layout, rows int, lastRow []byte) {
	cells := cutCells(lastRow, l.delim, nil)
	if t.column >= len(cells) {
		return
	}
	if last, ok := readCell(cells[t.column], l.point).ticks(t.decimals); ok {
		t.beat = t.beat.refine(l.ticksOf(t.column, t.decimals)[0], last, rows)
	}
}

// startOf is the first time in seconds; one of these days is counted from its
// midnight, so that nothing is lost to rounding.
func (t *timing) startOf(ticks int64) float64 {
	const longAgoS, dayS = 1e8, 86400
	if math.Abs(float64(ticks)*t.tickS) > longAgoS {
		if day := int64(math.Round(dayS / t.tickS)); day > 0 {
			ticks %= day
		}
	}
	if perSecond := math.Round(1 / t.tickS); perSecond >= 1 {
		return float64(ticks) / perSecond
	}
	return float64(ticks) * t.tickS
}

// sameTimes refuses channels that have columns of time of their own and were
// not sampled together.
func (l *layout) sameTimes(t *timing) error {
	first := l.ticksOf(t.column, t.decimals)
	for _, c := range l.chosen[1:] {
		other := l.timeOf(c)
		if other == t.column {
			continue
		}
		times := l.ticksOf(other, t.decimals)
		b, _, err := findBeat(times)
		if err != nil || math.Abs(b.ticks-t.beat.ticks) > b.within+t.beat.within || math.Abs(float64(times[0]-first[0])) > t.beat.ticks/2+t.beat.rounding {
			return problem(l.at(l.first), "read one channel at a time",
				"channels %q and %q were not sampled at the same times; want one time for both", l.channelName(l.chosen[0]), l.channelName(c))
		}
	}
	return nil
}

// areDoubled tells times that come in equal pairs.
func areDoubled(times []int64) bool {
	const fewest = 8
	equal := 0
	for i := 1; i < len(times); i++ {
		if times[i] != times[i-1] {
			continue
		}
		equal++
		if i > 1 && times[i-1] == times[i-2] {
			return false
		}
	}
	return len(times) >= fewest && equal*20 >= len(times)*9
}

// areEnvelopes tells whether every wanted channel has the lower value of each
// pair of rows at the same place.
func (l *layout) areEnvelopes() bool {
	return !slices.ContainsFunc(l.chosen, func(c int) bool {
		rising, falling := 0, 0
		for i := 1; i < len(l.rows); i += 2 {
			a, b := l.rows[i-1].at(c).float(0), l.rows[i].at(c).float(0)
			rising += one(b > a)
			falling += one(b < a)
		}
		return min(rising, falling)*50 > max(rising, falling)
	})
}
