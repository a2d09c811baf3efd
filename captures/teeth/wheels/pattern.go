// Package wheels tells which wheel a run of marks shows. The intervals between the marks
// are told in pitches (intervals.go), the order in which they come again is found
// (order.go; by the strength of pulses where noise hides it, fold.go; of uneven angles,
// angles.go), gaps are laid out in whole pitches (layout.go), pulses of another wheel in
// them are left out (foreign.go), and what was stated is compared (recogniser.go). What
// comes of it is the Pattern (pattern.go), by which teeth are numbered.
package wheels

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/stat"

	"armcurve/captures"
	"armcurve/captures/teeth/median"
)

// Pattern is the order of a wheel's teeth in time: the part of a turn from each
// tooth to the next. It begins at the first tooth after the longest gap.
type Pattern struct {
	Parts []float64 // sum 1
	Wheel captures.Wheel
	// Repeats is how often a shorter pattern was taken to make up the wheel,
	// because the wheel was stated so; 1 otherwise.
	Repeats int
	// Foreign is in how many turns pulses come in its gaps that are no teeth, 1 or 2; 0
	// where none do.
	Foreign int
}

// Regular tells whether the interval after tooth j is a single pitch.
func (p *Pattern) Regular(j int) bool {
	return p.Wheel.Pitches == 0 || p.Parts[j]*float64(p.Wheel.Pitches) < 1.5
}

// AfterGap tells whether teeth are missing before tooth j.
func (p *Pattern) AfterGap(j int) bool {
	n := len(p.Parts)
	return !p.Regular((j + n - 1) % n)
}

// Amid tells whether no gap is among tooth j and two teeth on either side.
func (p *Pattern) Amid(j int) bool {
	const beside = 2
	n := len(p.Parts)
	is := p.Wheel.Pitches > 0 && n > 2*beside
	for d := -beside; is && d < beside; d++ {
		is = p.Regular((j + d + n) % n)
	}
	return is
}

// New lays out intervals in pitches.
func New(pitches []int) *Pattern {
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
	p := &Pattern{Repeats: 1}
	place := 0
	for i := range n {
		k := pitches[(start+i)%n]
		p.Parts = append(p.Parts, float64(k)/float64(total))
		p.Wheel.Positions = append(p.Wheel.Positions, place)
		place += k
	}
	p.Wheel.Pitches = total
	for i := range n {
		// The longest gap, before place 0, is listed first.
		if k := pitches[(start-1+i)%n]; k > 1 {
			p.Wheel.Missing = append(p.Wheel.Missing, k-1)
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
func evenPattern(n int) *Pattern {
	ones := make([]int, n)
	for i := range ones {
		ones[i] = 1
	}
	return New(ones)
}

// anglesPattern is a wheel by angles, over a span of crank degrees.
func anglesPattern(w captures.Wheel, spanDeg float64) *Pattern {
	p := &Pattern{Wheel: w, Repeats: 1}
	n := len(w.AnglesDeg)
	for i, a := range w.AnglesDeg {
		next := w.AnglesDeg[(i+1)%n]
		if i == n-1 {
			next += spanDeg
		}
		p.Parts = append(p.Parts, (next-a)/spanDeg)
	}
	return p
}

// SameWheel compares a wheel found with one stated: the pitches, and the gaps
// in order of rotation. Where the gaps lie is left to the wave.
func SameWheel(found, stated captures.Wheel) bool {
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

// Pitches are those in each interval.
func (p *Pattern) Pitches() []int {
	var list []int
	for _, part := range p.Parts {
		list = append(list, int(math.Round(part*float64(p.Wheel.Pitches))))
	}
	return list
}

// repeated is the pattern several times over.
func (p *Pattern) repeated(times int) *Pattern {
	var pitches []int
	for range times {
		pitches = append(pitches, p.Pitches()...)
	}
	// Begin so that newPattern starts at the same tooth.
	r := New(pitches)
	r.Repeats, r.Foreign = times, p.Foreign
	return r
}

// FitCost is how unevenly the wheel would turn if the first interval were the
// one after tooth first: the mean square of the changes of the logarithm of
// speed from one interval to the next.
func (p *Pattern) FitCost(samples []float64, first int) float64 {
	n := len(p.Parts)
	sum, before := 0.0, 0.0
	for i, length := range samples {
		speed := math.Log(p.Parts[(first+i)%n] / length)
		if i > 0 {
			sum += (speed - before) * (speed - before)
		}
		before = speed
	}
	return sum / float64(max(1, len(samples)-1))
}

// Align finds the tooth before the first interval.
func (p *Pattern) Align(samples []float64) (first int, cost, second float64) {
	return p.least(func(j int) float64 { return p.FitCost(samples, j) })
}

// alignByLobes finds it by what the lobes tell of the angles alone.
func (p *Pattern) alignByLobes(in Intervals) (first int, cost, second float64) {
	return p.least(func(j int) float64 { return p.lobeCost(in.ByLobe, j) })
}

// Place finds it by both.
func (p *Pattern) Place(in Intervals) (first int, misfit float64) {
	first, misfit, _ = p.least(func(j int) float64 { return p.Misfit(in, j) })
	return first, misfit
}

// least is the tooth with the least cost, and how much the next costs that is not the
// same turned.
func (p *Pattern) least(costOf func(tooth int) float64) (first int, cost, second float64) {
	cost, second = math.Inf(1), math.Inf(1)
	for j := range p.order() {
		c := costOf(j)
		if c < cost {
			first, cost, second = j, c, cost
		} else if c < second {
			second = c
		}
	}
	return first, cost, second
}

// order is the number of teeth after which the wheel looks the same.
func (p *Pattern) order() int {
	n := 1
	for len(p.Parts)%n != 0 || !p.comesAgain(n) {
		n++
	}
	return n
}

// comesAgain tells that each interval is as long as that n teeth later.
func (p *Pattern) comesAgain(n int) bool {
	const alike = 1e-6 // of a turn
	for i, part := range p.Parts {
		if math.Abs(p.Parts[(i+n)%len(p.Parts)]-part) > alike {
			return false
		}
	}
	return true
}

// clueLeast is the mean square, in logarithms, that either clue strays by at least.
const clueLeast = 1e-4

// Misfit is how badly intervals fit the wheel if the first were the one after tooth
// first: by how unevenly it would turn, and by how far the angles are off that the lobes
// tell, which are the higher the faster the wheel turns. How much either strays is not
// known beforehand, so that both together are as likely as the product of their mean
// squares is small.
func (p *Pattern) Misfit(in Intervals, first int) float64 {
	return (p.FitCost(in.Lengths, first) + clueLeast) * (p.lobeCost(in.ByLobe, first) + clueLeast)
}

// lobeCost is the variance of the logarithms of angles by the lobes over those of the wheel.
func (p *Pattern) lobeCost(byLobe []float64, first int) float64 {
	off := make([]float64, len(byLobe))
	for i, angle := range byLobe {
		off[i] = math.Log(angle / p.Parts[(first+i)%len(p.Parts)])
	}
	return stat.PopVariance(off, nil)
}

// UsualSpeed is the median, over intervals of which the first begins at a slot,
// of the speed in turns per sample; 0 where none is known.
func (p *Pattern) UsualSpeed(samples []float64, first int) float64 {
	var speeds []float64
	for i, length := range samples {
		if length > 0 {
			speeds = append(speeds, p.Parts[(first+i)%len(p.Parts)]/length)
		}
	}
	if len(speeds) == 0 {
		return 0
	}
	return median.Of(speeds)
}

// StepsTo is the number of teeth on from one slot to another, at least 1, by
// which the wheel turned most nearly that part of a turn, or more than one.
func (p *Pattern) StepsTo(from, to int, turned float64) int {
	steps, angle := 0, 0.0
	for steps == 0 || (from+steps)%len(p.Parts) != to {
		angle += p.Parts[(from+steps)%len(p.Parts)]
		steps++
	}
	return steps + len(p.Parts)*max(0, int(math.Round(turned-angle)))
}

// IsNext tells that the tooth behind a slot is so many pitches on, or in its place
// already.
func (p *Pattern) IsNext(slot, pitches int) bool {
	part := p.Parts[slot%len(p.Parts)]
	return pitches == 0 || pitches == int(math.Round(part*float64(p.Wheel.Pitches)))
}

// HasGap tells whether one of the wheel's gaps is so long, pitches.
func (p *Pattern) HasGap(pitches int) bool {
	for _, missing := range p.Wheel.Missing {
		if missing+1 == pitches {
			return true
		}
	}
	return false
}

// LongestPart is the longest part of a turn between two teeth.
func (p *Pattern) LongestPart() float64 { return slices.Max(p.Parts) }

// StandsApart tells that a wheel has no run of teeth in which each is like those
// beside it, so that noise can only be measured in the pauses between them.
func (p *Pattern) StandsApart() bool {
	if p.Wheel.Pitches == 0 {
		return true
	}
	n := len(p.Parts)
	longest, run := 0, 0
	for i := range 2 * n {
		if run++; !p.Regular(i % n) {
			run = 0
		}
		longest = max(longest, run)
	}
	if n < FewTeeth {
		return longest < 3
	}
	return longest < 5
}

// FewTeeth on a wheel make do with three intervals alike.
const FewTeeth = 8
