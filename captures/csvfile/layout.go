package csvfile

import (
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"

	"armcurve/captures"
)

// layout says which column of a recording is what.
type layout struct {
	*grid
	heading
	times    []int // columns of time, in order
	index    int   // the column that numbers the samples; −1 for none
	channels []int // the other columns of numbers
	chosen   []int // those of the channels that are wanted, as asked for
}

// readLayout finds out what the columns are and which are wanted.
func readLayout(g *grid, o SamplesOptions) (*layout, error) {
	isData := g.dataColumns()
	l := &layout{grid: g, heading: g.readHeading(isData), index: -1}
	var data []int
	for c, is := range isData {
		if is {
			data = append(data, c)
		}
	}
	l.divide(data)
	var err error
	l.chosen, err = l.choose(o.Channels)
	return l, err
}

// dataColumns are those with numbers in the rows, but for the values of keys
// that stand beside the rows.
func (g *grid) dataColumns() []bool {
	isData := make([]bool, g.width)
	for c := range isData {
		numbers, words := 0, 0
		for _, row := range g.rows {
			numbers += one(row.at(c).counts())
			words += one(row.at(c).as == inWords)
		}
		const many = 8
		isData[c] = numbers >= words && (numbers > many || numbers*4 >= len(g.rows)) && numbers > 0 && !g.areKeyed(c)
	}
	return isData
}

// areKeyed tells a column whose numbers stand behind words only, which never
// repeat: "Record Length,2500" beside a row.
func (g *grid) areKeyed(c int) bool {
	if c == 0 {
		return false
	}
	seen := map[string]bool{}
	for i, row := range g.rows {
		if !row.at(c).counts() {
			continue
		}
		if row.at(c-1).as != inWords {
			return false
		}
		key := g.texts(g.rowLines[i])[c-1]
		if seen[key] {
			return false
		}
		seen[key] = true
	}
	return true
}

// divide tells columns of time, the index and channels apart.
func (l *layout) divide(data []int) {
	for _, c := range data {
		switch {
		case l.index < 0 && len(l.times) == 0 && len(l.channels) == 0 && l.isIndex(c):
			l.index = c
		case l.isTime(c, len(data)):
			l.times = append(l.times, c)
		default:
			l.channels = append(l.channels, c)
		}
	}
	if len(l.channels) == 0 && len(l.times) == 0 && l.index >= 0 {
		l.channels, l.index = []int{l.index}, -1 // a lone ramp is a wave
	}
}

// isIndex tells whole numbers, one more in each row, under no name of a time.
func (l *layout) isIndex(c int) bool {
	if u, known := unitOf(l.units[c]); known && u.of == duration || !isIndexName(l.names[c]) && !isOneOf(strings.ToLower(l.names[c]), "x") {
		return false
	}
	values := l.ticksOf(c, 0)
	steps := 0
	for i := 1; i < len(values); i++ {
		steps += one(values[i] == values[i-1]+1)
	}
	return len(values) > 1 && steps*10 >= (len(values)-1)*9 && l.decimalsOf(c) == 0
}

// isTime tells a column by its name, its unit or its wording; without a name
// the first of several, or one that runs like the first, if its steps are even.
func (l *layout) isTime(c, columns int) bool {
	u, known := unitOf(l.units[c])
	switch {
	case known && u.of == duration, l.rows[0].at(c).as == asClock, l.rows[0].at(c).unit.of == duration:
		return true
	case known:
		return false
	case isTimeName(l.names[c]):
		return true
	}
	like := len(l.times) > 0 && l.names[c] == "" && l.sameTicks(c, l.times[0])
	return like || len(l.times) == 0 && len(l.channels) == 0 && columns > 1 && l.isEven(c)
}

// isEven tells numbers that rise or fall by the same step.
func (l *layout) isEven(c int) bool {
	const fewest = 4
	times := l.ticksOf(c, l.decimalsOf(c))
	if len(times) < fewest {
		return false
	}
	if times[0] > times[len(times)-1] {
		for i := range times {
			times[i] = -times[i]
		}
	}
	b, _, err := findBeat(times)
	return err == nil && b.uneven*100 < b.ticks
}

// sameTicks tells whether two columns run in the same steps.
func (l *layout) sameTicks(c, like int) bool {
	decimals := max(l.decimalsOf(c), l.decimalsOf(like))
	a, _, errA := findBeat(l.ticksOf(c, decimals))
	b, _, errB := findBeat(l.ticksOf(like, decimals))
	return errA == nil && errB == nil && math.Abs(a.ticks-b.ticks) <= a.within+b.within
}

// ticksOf gives a column's numbers as whole multiples of 10^−decimals, those
// that are none left out.
func (l *layout) ticksOf(c, decimals int) []int64 {
	var ticks []int64
	for _, row := range l.rows {
		if t, ok := row.at(c).ticks(decimals); ok {
			ticks = append(ticks, t)
		}
	}
	return ticks
}

// decimalsOf is the largest number of decimals in a column, in its own unit;
// 9 for clocks.
func (l *layout) decimalsOf(c int) int {
	const clockDecimals = 9
	decimals := 0
	for _, row := range l.rows {
		switch v := row.at(c); v.as {
		case asClock:
			return clockDecimals
		case asNumber:
			decimals = max(decimals, -v.number.exp-v.unit.exp)
		}
	}
	return decimals
}

// ticks gives a number, or a clock's seconds, in whole multiples of
// 10^−decimals.
func (v cellValue) ticks(decimals int) (ticks int64, ok bool) {
	switch v.as {
	case asClock:
		return decimal{mant: uint64(max(v.clock, 0)), exp: -9}.ticks(decimals)
	case asNumber:
		return v.number.ticks(decimals + v.unit.exp)
	}
	return 0, false
}

// ticks gives the number in whole multiples of 10^−decimals, rounded; not ok
// where an int64 does not hold it.
func (d decimal) ticks(decimals int) (ticks int64, ok bool) {
	const limit = 4e18
	shift := d.exp + decimals
	m := d.mant
	switch {
	case d.mant == 0:
	case shift > maxWholeTen:
		return 0, false
	case shift >= 0:
		if m > limit/wholeTens[shift] {
			return 0, false
		}
		m *= wholeTens[shift]
	case shift >= -maxWholeTen:
		ten := wholeTens[-shift]
		m = m/ten + uint64(one(m%ten >= ten-ten/2))
	default:
		m = 0
	}
	if m > limit {
		return 0, false
	}
	if d.neg {
		return -int64(m), true
	}
	return int64(m), true
}

// choose finds the channels asked for; none asked for is the only one there is
// that is not digital.
func (l *layout) choose(wanted []string) ([]int, error) {
	if len(l.channels) == 0 {
		return nil, problem(l.at(l.first), "export the channel's samples beside the time", "found a column of time and no other numbers; want a channel's voltage")
	}
	if len(wanted) == 0 {
		analog := slices.DeleteFunc(slices.Clone(l.channels), l.isDigital)
		switch {
		case len(analog) == 1:
			return analog, nil
		case len(l.channels) == 1:
			return l.channels, nil
		}
		return nil, problem(captures.Pos{File: l.file}, "choose with --channel, by name or number",
			"found %d channels, %s; want to know which", len(l.channels), l.listing())
	}
	var chosen []int
	for _, name := range wanted {
		c, err := l.channel(name)
		if err != nil {
			return nil, err
		}
		if slices.Contains(chosen, c) {
			return nil, problem(captures.Pos{File: l.file}, "", "channel %q is wanted twice", name)
		}
		chosen = append(chosen, c)
	}
	return chosen, nil
}

// isDigital tells a column of nothing but 0 and 1.
func (l *layout) isDigital(c int) bool {
	for _, row := range l.rows {
		if v := row.at(c); v.as == asNumber && (v.number.mant > 1 || v.number.exp != 0) {
			return false
		}
	}
	return true
}

// channel finds a channel by its name, else by its number.
func (l *layout) channel(wanted string) (int, error) {
	wanted = strings.TrimSpace(wanted)
	var found []int
	for _, c := range l.channels {
		if strings.EqualFold(l.names[c], wanted) || strings.EqualFold(l.written[c], wanted) {
			found = append(found, c)
		}
	}
	if n, err := strconv.Atoi(wanted); err == nil && len(found) == 0 && n >= 1 && n <= len(l.channels) {
		found = append(found, l.channels[n-1])
	}
	switch len(found) {
	case 0:
		return 0, problem(captures.Pos{File: l.file}, "choose with --channel, by name or number",
			"found no channel %q; want one of %s", wanted, l.listing())
	case 1:
		return found[0], nil
	}
	return 0, problem(captures.Pos{File: l.file}, "choose with --channel, by number",
		"found %d channels %q; want one of %s", len(found), wanted, l.listing())
}

// listing names the channels with their numbers.
func (l *layout) listing() string {
	const most = 20
	var list []string
	for i, c := range l.channels[:min(len(l.channels), most)] {
		text := fmt.Sprintf("%d %q", i+1, l.channelName(c))
		if l.units[c] != "" {
			text += " (" + l.units[c] + ")"
		}
		list = append(list, text)
	}
	if more := len(l.channels) - most; more > 0 {
		list = append(list, fmt.Sprintf("and %d more", more))
	}
	return strings.Join(list, ", ")
}

// channelName is the name in the file, else the place.
func (l *layout) channelName(c int) string {
	if l.names[c] != "" {
		return l.names[c]
	}
	return fmt.Sprintf("column %d", c+1)
}

// timeOf is the column of time that belongs to a channel, the nearest before
// it; −1 where the file has none.
func (l *layout) timeOf(channel int) int {
	of := -1
	for _, c := range l.times {
		if of < 0 || c < channel {
			of = c
		}
	}
	return of
}
