package csvfile

import (
	"bytes"
	"cmp"
	"errors"
	"io"
	"math"
	"slices"
	"strconv"
)

// beat is the time from row to row, in ticks of the time column.
type beat struct {
	ticks    float64
	within   float64 // how far ticks may be off because times are rounded
	rounding float64 // what one time may be off because of that
	uneven   float64 // how far single times are from their places, rounding apart
}

var (
	errOneSample = errors.New("one sample")
	errBackwards = errors.New("time runs backwards")
	errStands    = errors.New("time stands still")
	errUneven    = errors.New("time steps differ")
)

// findBeat finds the step of times that may be rounded so coarsely that
// neighbours are equal, with gaps among them: the slope of the longest even
// run. at is the row that an error speaks of.
func findBeat(times []int64) (b beat, at int, err error) {
	if len(times) < 2 {
		return beat{}, 0, errOneSample
	}
	step := medianSlope(times)
	if step <= 0 {
		return beat{}, notRising(times), map[bool]error{true: errStands, false: errBackwards}[step == 0]
	}
	rounding := commonRounding(times)
	for _, allowed := range []float64{1, rounding} {
		first, last, breaks := longestRun(times, step, allowed)
		if len(breaks)*20 <= len(times)+20 {
			return measuredBeat(times[first:last+1], rounding), 0, nil
		}
		at = breaks[0]
	}
	return beat{}, at, errUneven
}

// medianSlope is the middle one of the slopes over a quarter of the times: a
// gap spoils only those that span it.
func medianSlope(times []int64) float64 {
	span := max(1, (len(times)-1)/4)
	slopes := make([]float64, len(times)-span)
	for i := range slopes {
		slopes[i] = float64(times[i+span]-times[i]) / float64(span)
	}
	slices.Sort(slopes)
	return slopes[len(slopes)/2]
}

// measuredBeat is the slope of an even run: from end to end, which is the most
// exact, or the middle one if that fits better because an end is off.
func measuredBeat(times []int64, rounding float64) beat {
	n := float64(len(times) - 1)
	b := beat{ticks: float64(times[len(times)-1]-times[0]) / n}
	most, middle := residuals(times, b.ticks)
	if slope := medianSlope(times); slope > 0 {
		if m, mid := residuals(times, slope); mid < middle/2 {
			b.ticks, most, middle = slope, m, mid
		}
	}
	b.rounding = max(1, min(rounding, 2*most))
	b.uneven = max(0, 2*middle-b.rounding)
	b.within = max(b.rounding, most) / n
	return b
}

// residuals are the largest and the middle distance of times from where a step
// puts them.
func residuals(times []int64, step float64) (most, middle float64) {
	off := make([]float64, len(times))
	for i, t := range times {
		off[i] = math.Abs(float64(t-times[0]) - step*float64(i))
	}
	slices.Sort(off)
	return off[len(off)-1], off[len(off)/2]
}

// commonRounding is the power of ten that four of five times are multiples of.
func commonRounding(times []int64) float64 {
	all := make([]float64, len(times))
	for i, t := range times {
		all[i] = 1
		for ; t != 0 && t%10 == 0; t /= 10 {
			all[i] *= 10
		}
	}
	slices.Sort(all)
	return all[len(all)/5]
}

// longestRun finds the longest run of rows a step apart, and the rows that
// break runs.
func longestRun(times []int64, step, rounding float64) (first, last int, breaks []int) {
	start := 0
	for i := 1; i < len(times); i++ {
		if d := float64(times[i] - times[i-1]); d < 0 || math.Abs(d-step) > step/2+rounding {
			start = i
			breaks = append(breaks, i)
		}
		if i-start > last-first {
			first, last = start, i
		}
	}
	return first, last, breaks
}

func notRising(times []int64) int {
	for i := 1; i < len(times); i++ {
		if times[i] <= times[i-1] {
			return i
		}
	}
	return 0
}

// roundest returns the number with the fewest digits within a distance of v
// that has it or whose inverse has it: instruments sample at round steps or at
// round rates. It is sure where hardly another number would have been as round.
func roundest(v, within float64) (round float64, sure bool) {
	const mostDigits, chance = 15, 0.05
	for digits := 1; digits < mostDigits; digits++ {
		sure := 4*within/v < chance*math.Pow10(-digits)
		if step := rounded(v, digits); math.Abs(step-v) <= within {
			return step, sure
		}
		if step := 1 / rounded(1/v, digits); math.Abs(step-v) <= within {
			return step, sure
		}
	}
	return v, true
}

func rounded(v float64, digits int) float64 {
	r, _ := strconv.ParseFloat(strconv.FormatFloat(v, 'e', digits-1, 64), 64)
	return r
}

// countedRows counts the rows of a file behind the given line and finds the
// last one that is whole.
func countedRows(file io.ReaderAt, line int) (rows int, lastRow []byte, err error) {
	text := io.NewSectionReader(file, 0, math.MaxInt64)
	buffer := make([]byte, 64<<10)
	kept := 0
	for {
		n, err := text.Read(buffer[kept:])
		block := buffer[:kept+n]
		rows += bytes.Count(buffer[kept:kept+n], []byte{'\n'})
		if cut := bytes.LastIndexByte(block, '\n'); cut > 0 {
			lastRow = append(lastRow[:0], block[bytes.LastIndexByte(block[:cut], '\n')+1:cut]...)
			block = block[cut:]
		}
		if err != nil {
			return rows - line, lastRow, endOrNil(err)
		}
		kept = copy(buffer, block)
		if kept == len(buffer) {
			return 0, nil, errors.New("line too long")
		}
	}
}

func endOrNil(err error) error {
	if errors.Is(err, io.EOF) {
		return nil
	}
	return err
}

// refine narrows the beat down with the time of a row far behind, if that
// agrees with it.
func (b beat) refine(first, last int64, rows int) beat {
	if rows < 2 {
		return b
	}
	far := b
	far.ticks = float64(last-first) / float64(rows-1)
	far.within = b.rounding / float64(rows-1)
	if math.Abs(far.ticks-b.ticks) > b.within || cmp.Compare(far.within, b.within) >= 0 {
		return b
	}
	return far
}
