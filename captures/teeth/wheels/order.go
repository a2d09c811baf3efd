package wheels

import (
	"slices"
)

// findPattern finds the order that repeats in a run of marks; nil where there
// is none or too little was seen. A pattern of n teeth has to be seen twice.
func findPattern(in Intervals) *Pattern {
	n := Period(in.Pitches)
	if n == 0 {
		return nil
	}
	pitches := LayOut(in.inOrder(n), n)
	if n > 720 || pitches == nil || slices.Max(pitches) == 1 {
		return nil
	}
	return New(shortest(pitches))
}

// turnsLaidOut are those of a stretch by which a wheel is laid out; of fewer, all
// that there is tells more.
const turnsLaidOut = 3

// inOrder are the intervals of the longest stretch in which an order of n is not
// broken.
func (in Intervals) inOrder(n int) Intervals {
	from, to := unbroken(in.Pitches, n)
	if to-from < turnsLaidOut*n {
		return in
	}
	return Intervals{in.Lengths[from:to], in.Pitches[from:to], in.ByLobe[from:to], in.byWidth[from:to]}
}

// unbroken is the longest stretch of intervals of which those n apart are all long
// or all short. Where the wave was lost, teeth were, and with them their order.
func unbroken(pitches []float64, n int) (from, to int) {
	begun := 0
	for i := range pitches {
		if i-n >= begun && (pitches[i] > LongInterval) != (pitches[i-n] > LongInterval) {
			begun = i + 1
		}
		if i+1-begun > to-from {
			from, to = begun, i+1
		}
	}
	return from, to
}

// shortest is the part of an order that comes several times in it: noise may
// have hidden that it does.
func shortest(pitches []int) []int {
	for n := 1; n <= len(pitches)/2; n++ {
		if len(pitches)%n == 0 && slices.Equal(pitches[n:], pitches[:len(pitches)-n]) {
			return pitches[:n]
		}
	}
	return pitches
}

const LongInterval = 1.5 // pitches, from which it holds a gap

// Period is the number of intervals after which long ones come again; 0 where
// they do not.
func Period(pitches []float64) int {
	var long []int
	for i, r := range pitches {
		if r > LongInterval {
			long = append(long, i)
		}
	}
	if len(long) < 2 {
		return 0
	}
	isLong := make([]bool, len(pitches))
	for _, i := range long {
		isLong[i] = true
	}
	for n := 1; 2*n <= len(pitches); n++ {
		match, differ := 0, 0
		for i := 0; i+n < len(pitches); i++ {
			switch {
			case isLong[i] && isLong[i+n]:
				match++
			case isLong[i] != isLong[i+n]:
				differ++
			}
		}
		if match >= 1 && 10*differ <= 2*match && Similar(pitches, n) {
			return n
		}
	}
	return 0
}

// Similar tells whether intervals n apart are as long as each other, nearly all.
func Similar(pitches []float64, n int) bool {
	good := 0
	for i := 0; i+n < len(pitches); i++ {
		if q := pitches[i+n] / pitches[i]; q > 0.7 && q < 1.43 {
			good++
		}
	}
	return float64(good) >= 0.93*float64(len(pitches)-n)
}
