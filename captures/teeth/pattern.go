package teeth

import (
	"math"
	"slices"

	"armcurve/captures"
)

// pattern is the order of a wheel's teeth in time: the part of a turn from each
// tooth to the next. It begins at the first tooth after the longest gap.
type pattern struct {
	parts []float64 // sum 1
	wheel captures.Wheel
	// repeats is how often a shorter pattern was taken to make up the wheel,
	// because the wheel was stated so; 1 otherwise.
	repeats int
}

// regular tells whether the interval after tooth j is a single pitch.
func (p *pattern) regular(j int) bool {
	return p.wheel.Pitches == 0 || p.parts[j]*float64(p.wheel.Pitches) < 1.5
}

// afterGap tells whether teeth are missing before tooth j.
func (p *pattern) afterGap(j int) bool {
	n := len(p.parts)
	return !p.regular((j + n - 1) % n)
}

// newPattern lays out intervals in pitches.
func newPattern(pitches []int) *pattern {
	total, longest := 0, 0
	for i, k := range pitches {
		total += k
		if k > pitches[longest] {
			longest = i
		}
	}
	start := longest + 1
	n := len(pitches)
	// Of several longest gaps the one before the longest run of teeth counts.
	for i, k := range pitches {
		if k == pitches[longest] && runAfter(pitches, i) > runAfter(pitches, start-1) {
			start = i + 1
		}
	}
	p := &pattern{repeats: 1}
	place := 0
	for i := range n {
		k := pitches[(start+i)%n]
		p.parts = append(p.parts, float64(k)/float64(total))
		p.wheel.Positions = append(p.wheel.Positions, place)
		place += k
	}
	p.wheel.Pitches = total
	for i := range n {
		// The longest gap, before place 0, is listed first.
		if k := pitches[(start-1+i)%n]; k > 1 {
			p.wheel.Missing = append(p.wheel.Missing, k-1)
		}
	}
	return p
}

// runAfter counts the single pitches that follow interval i.
func runAfter(pitches []int, i int) int {
	n := len(pitches)
	for run := 0; run < n; run++ {
		if pitches[(i+1+run)%n] != 1 {
			return run
		}
	}
	return n
}

// evenPattern is a wheel without a gap.
func evenPattern(n int) *pattern {
	ones := make([]int, n)
	for i := range ones {
		ones[i] = 1
	}
	return newPattern(ones)
}

// anglesPattern is a wheel by angles, over a span of crank degrees.
func anglesPattern(w captures.Wheel, spanDeg float64) *pattern {
	p := &pattern{wheel: w, repeats: 1}
	n := len(w.AnglesDeg)
	for i, a := range w.AnglesDeg {
		next := w.AnglesDeg[(i+1)%n]
		if i == n-1 {
			next += spanDeg
		}
		p.parts = append(p.parts, (next-a)/spanDeg)
	}
	return p
}

// intervals are the ratios of the intervals between marks to the pitch there,
// which is told by the intervals beside and by the width of the pulses.
type intervals struct {
	samples []float64 // length
	pitches []float64 // estimate
}

func newIntervals(marks []mark) intervals {
	var in intervals
	var byWidth []float64
	for i := 1; i < len(marks); i++ {
		length := marks[i].at - marks[i-1].at
		in.samples = append(in.samples, length)
		byWidth = append(byWidth, length/math.Sqrt(marks[i].width*marks[i-1].width))
	}
	unit := median(byWidth)
	n := len(in.samples)
	for i := range n {
		near := make([]float64, 0, 4)
		for _, k := range []int{i - 2, i - 1, i + 1, i + 2} {
			if k >= 0 && k < n {
				near = append(near, in.samples[k])
			}
		}
		beside := 1.0
		if len(near) > 0 {
			beside = in.samples[i] / median(near)
		}
		in.pitches = append(in.pitches, math.Sqrt(beside*byWidth[i]/unit))
	}
	return in
}

// findPattern finds the order that repeats in a run of marks; nil where there
// is none or too little was seen. A pattern of n teeth has to be seen twice.
func findPattern(marks []mark) *pattern {
	in := newIntervals(marks)
	n := period(in.pitches)
	if n == 0 {
		return nil
	}
	pitches := make([]int, n)
	for j := range n {
		var same []float64
		for i := j; i < len(in.pitches); i += n {
			same = append(same, in.pitches[i])
		}
		pitches[j] = max(1, int(math.Round(median(same))))
	}
	if n > 720 || slices.Max(pitches) == 1 {
		return nil
	}
	return newPattern(pitches)
}

const longInterval = 1.5

// period is the number of intervals after which long ones come again; 0 where
// they do not.
func period(pitches []float64) int {
	var long []int
	for i, r := range pitches {
		if r > longInterval {
			long = append(long, i)
		}
	}
	if len(long) < 3 {
		return 0
	}
	for n := 1; 2*n <= len(pitches); n++ {
		match, seen := 0, 0
		for _, i := range long {
			if i+n < len(pitches) {
				seen++
				if pitches[i+n] > longInterval {
					match++
				}
			}
		}
		if seen >= 2 && float64(match) >= 0.9*float64(seen) && similar(pitches, n) {
			return n
		}
	}
	return 0
}

// similar tells whether intervals n apart are as long as each other, nearly all.
func similar(pitches []float64, n int) bool {
	good := 0
	for i := 0; i+n < len(pitches); i++ {
		if q := pitches[i+n] / pitches[i]; q > 0.7 && q < 1.43 {
			good++
		}
	}
	return float64(good) >= 0.93*float64(len(pitches)-n)
}

func median(x []float64) float64 {
	if len(x) == 0 {
		return math.NaN()
	}
	s := slices.Clone(x)
	slices.Sort(s)
	return (s[(len(s)-1)/2] + s[len(s)/2]) / 2
}

// sameWheel compares a wheel found with one stated: the pitches, and the gaps
// in order of rotation. Where the gaps lie is left to the wave.
func sameWheel(found, stated captures.Wheel) bool {
	if found.Pitches != stated.Pitches || len(found.Missing) != len(stated.Missing) {
		return false
	}
	n := len(found.Missing)
	for turn := range max(n, 1) {
		same := true
		for i := range found.Missing {
			same = same && found.Missing[i] == stated.Missing[(i+turn)%n]
		}
		if same {
			return true
		}
	}
	return false
}

// repeated is the pattern several times over.
func (p *pattern) repeated(times int) *pattern {
	var pitches []int
	for range times {
		for _, part := range p.parts {
			pitches = append(pitches, int(math.Round(part*float64(p.wheel.Pitches))))
		}
	}
	// Begin so that newPattern starts at the same tooth.
	r := newPattern(pitches)
	r.repeats = times
	return r
}

// fitCost is how unevenly the wheel would turn if the first interval were the
// one after tooth first: the mean square of the changes of the logarithm of
// speed from one interval to the next.
func (p *pattern) fitCost(samples []float64, first int) float64 {
	n := len(p.parts)
	sum, before := 0.0, 0.0
	for i, length := range samples {
		speed := math.Log(p.parts[(first+i)%n] / length)
		if i > 0 {
			sum += (speed - before) * (speed - before)
		}
		before = speed
	}
	return sum / float64(max(1, len(samples)-1))
}

// align finds the tooth before the first interval.
func (p *pattern) align(samples []float64) (first int, cost, second float64) {
	cost, second = math.Inf(1), math.Inf(1)
	for j := range p.parts {
		c := p.fitCost(samples, j)
		if c < cost {
			first, cost, second = j, c, cost
		} else if c < second {
			second = c
		}
	}
	return first, cost, second
}
