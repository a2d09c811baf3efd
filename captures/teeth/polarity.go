package teeth

import (
	"fmt"
	"math"
)

// polarity judges which way round the wires are. A missing tooth leaves one
// long interval between the falls at the teeth; between the rises, which lie in
// the spaces, it leaves two that are shorter: m missing teeth give one of m+1
// pitches against two of (m+2)/2. Seen the other way round, the wires are
// swapped.
func (r *run) polarity() (polarity, why string) {
	if len(r.marks) < 6 || len(r.swapped) < 6 {
		return Unknown, "too few teeth were seen"
	}
	falls, rises := newIntervals(r.marks), newIntervals(r.swapped)
	if sparse(r.marks) {
		return byStrength(r.marks, r.swapped)
	}
	fall, falling := longOnes(falls)
	rise, rising := longOnes(rises)
	evidence := fmt.Sprintf("the longest intervals are %.2g pitches between falls through the rest level, %.2g between rises", fall, rise)
	switch {
	case falling < 2 && rising < 2:
		return Unknown, "the wheel shows no gap, and without one both ways round look alike"
	case fall >= 1.7 && fall > 1.15*rise:
		return Normal, evidence
	case rise >= 1.7 && rise > 1.15*fall:
		return Reversed, evidence
	}
	return Unknown, evidence
}

// longOnes is the typical length in pitches of the intervals that stand out,
// and their number; 1 where there are none.
func longOnes(in intervals) (typical float64, n int) {
	var long []float64
	for _, p := range in.pitches {
		if p > 1.3 {
			long = append(long, p)
		}
	}
	if len(long) < 2 {
		return 1, len(long)
	}
	// The longest of several kinds: the upper part of them.
	top := upperQuartile(long)
	return top, len(long)
}

// sparse tells that pulses stand apart, as of a cam with a few teeth.
func sparse(marks []mark) bool {
	var apart []float64
	for i := 1; i < len(marks); i++ {
		apart = append(apart, (marks[i].at-marks[i-1].at)/(marks[i].own*pitchPerWidth))
	}
	return median(apart) > 2.5
}

// byStrength judges pulses that stand apart: the swing through a tooth is the
// whole of its flux, the swings before and behind it are half.
func byStrength(falls, rises []mark) (polarity, why string) {
	var f, r []float64
	for _, m := range falls {
		f = append(f, m.flux)
	}
	for _, m := range rises {
		r = append(r, m.flux)
	}
	ratio := median(f) / median(r)
	why = fmt.Sprintf("at a tooth the fall is %.2g times as strong as the rises beside it", ratio)
	switch {
	case ratio > 1.3:
		return Normal, why
	case ratio < 1/1.3:
		return Reversed, fmt.Sprintf("at a tooth the rise is %.2g times as strong as the falls beside it", 1/ratio)
	}
	return Unknown, why
}

func upperQuartile(x []float64) float64 {
	m := median(x)
	var upper []float64
	for _, v := range x {
		if v >= m {
			upper = append(upper, v)
		}
	}
	if len(upper) == 0 {
		return math.NaN()
	}
	return median(upper)
}
