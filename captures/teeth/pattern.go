package teeth

import (
	"math"
	"slices"

	"armcurve/captures"
	"armcurve/captures/teeth/median"
)

// pattern is the order of a wheel's teeth in time: the part of a turn from each
// tooth to the next. It begins at the first tooth after the longest gap.
type pattern struct {
	parts []float64 // sum 1
	wheel captures.Wheel
	// repeats is how often a shorter pattern was taken to make up the wheel,
	// because the wheel was stated so; 1 otherwise.
	repeats int
	// strange is in how many turns pulses come in its gaps that are no teeth, 1 or 2; 0
	// where none do.
	strange int
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

// amid tells whether no gap is among tooth j and two teeth on either side.
func (p *pattern) amid(j int) bool {
	const beside = 2
	n := len(p.parts)
	is := p.wheel.Pitches > 0 && n > 2*beside
	for d := -beside; is && d < beside; d++ {
		is = p.regular((j + d + n) % n)
	}
	return is
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

// pitches are those in each interval.
func (p *pattern) pitches() []int {
	var list []int
	for _, part := range p.parts {
		list = append(list, int(math.Round(part*float64(p.wheel.Pitches))))
	}
	return list
}

// repeated is the pattern several times over.
func (p *pattern) repeated(times int) *pattern {
	var pitches []int
	for range times {
		pitches = append(pitches, p.pitches()...)
	}
	// Begin so that newPattern starts at the same tooth.
	r := newPattern(pitches)
	r.repeats, r.strange = times, p.strange
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

// usualSpeed is the median, over intervals of which the first begins at a slot,
// of the speed in turns per sample; 0 where none is known.
func (p *pattern) usualSpeed(samples []float64, first int) float64 {
	var speeds []float64
	for i, length := range samples {
		if length > 0 {
			speeds = append(speeds, p.parts[(first+i)%len(p.parts)]/length)
		}
	}
	if len(speeds) == 0 {
		return 0
	}
	return median.Of(speeds)
}

// stepsTo is the number of teeth on from one slot to another, at least 1, by
// which the wheel turned most nearly that part of a turn, or more than one.
func (p *pattern) stepsTo(from, to int, turned float64) int {
	steps, angle := 0, 0.0
	for steps == 0 || (from+steps)%len(p.parts) != to {
		angle += p.parts[(from+steps)%len(p.parts)]
		steps++
	}
	return steps + len(p.parts)*max(0, int(math.Round(turned-angle)))
}

// hasNext tells that the tooth behind a slot is so many pitches on, or in its place
// already.
func (p *pattern) hasNext(slot, pitches int) bool {
	part := p.parts[slot%len(p.parts)]
	return pitches == 0 || pitches == int(math.Round(part*float64(p.wheel.Pitches)))
}

// hasGap tells whether one of the wheel's gaps is so long, pitches.
func (p *pattern) hasGap(pitches int) bool {
	for _, missing := range p.wheel.Missing {
		if missing+1 == pitches {
			return true
		}
	}
	return false
}

// longestPart is the longest part of a turn between two teeth.
func (p *pattern) longestPart() float64 { return slices.Max(p.parts) }

// standsApart tells that a wheel has no run of teeth in which each is like those
// beside it, so that noise can only be measured in the pauses between them.
func (p *pattern) standsApart() bool {
	if p.wheel.Pitches == 0 {
		return true
	}
	n := len(p.parts)
	longest, run := 0, 0
	for i := range 2 * n {
		if run++; !p.regular(i % n) {
			run = 0
		}
		longest = max(longest, run)
	}
	if n < fewTeeth {
		return longest < 3
	}
	return longest < 5
}

// fewTeeth on a wheel make do with three intervals alike.
const fewTeeth = 8
