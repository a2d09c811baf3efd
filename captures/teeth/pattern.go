package teeth

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/stat"

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

// findAngles finds a short order of uneven intervals that comes again and again;
// nil where there is none. Angles count from the tooth after the longest
// interval. An engine that slows down at compression makes uneven times too,
// but with lobes that are lower as the times are longer.
func findAngles(marks []mark, spanDeg float64) *pattern {
	samples := newIntervals(marks).samples
	clue := lobeClue(marks, samples, overTurns)
	for n := 2; n <= longestOrder && 3*n <= len(samples); n++ {
		if recurs(samples, n) < 0.9 {
			continue
		}
		angles, lengths := bySlot(clue, n), bySlot(partsOfTurn(samples, n), n)
		if slices.Max(angles) > 1.25*slices.Min(angles) && bearsOut(angles, lengths) && atSteadySpeed(marks, lengths) {
			return layAngles(lengths, spanDeg)
		}
		return nil
	}
	return nil
}

// borneOut is the part of the variance of uneven lengths, as logarithms, that the
// lobes may contradict.
const borneOut = 0.3

// bearsOut tells that the lobes bear out uneven lengths: of teeth alike at a steady
// speed the angles by the lobes are the lengths themselves. Where the two differ
// nearly as much as the lengths among themselves, the lobes or the lengths are uneven
// for another reason: teeth that are not alike, compressions.
func bearsOut(angles, lengths []float64) bool {
	var own, between []float64
	for j := range lengths {
		own = append(own, math.Log(lengths[j]))
		between = append(between, math.Log(angles[j]/lengths[j]))
	}
	return stat.PopVariance(between, nil) < borneOut*stat.PopVariance(own, nil)
}

// atSteadySpeed tells that from tooth to tooth the pulses' widths, which follow the
// speed whatever the coil does, differ by less than the lengths of the intervals.
func atSteadySpeed(marks []mark, lengths []float64) bool {
	var widths []float64
	for i := range marks {
		widths = append(widths, marks[i].own)
	}
	widths = bySlot(widths, len(lengths))
	return stat.PopVariance(logarithms(widths), nil) < stat.PopVariance(logarithms(lengths), nil)
}

// partsOfTurn gives each interval as a part of a turn of n: of the one that
// begins with it and the one that ends with it, whose speeds together are that
// in its own middle where the speed changes evenly. The intervals at either end
// take the turn that there is.
func partsOfTurn(samples []float64, n int) []float64 {
	turns := make([]float64, len(samples)-n+1) // lengths, by the first interval
	for i := range turns {
		for _, length := range samples[i : i+n] {
			turns[i] += length
		}
	}
	parts := make([]float64, len(samples))
	for i, length := range samples {
		begun, ended := turns[min(i, len(turns)-1)], turns[max(0, i-n+1)]
		parts[i] = length * (1/begun + 1/ended) / 2
	}
	return parts
}

// bySlot is the median of every n-th value, for each of n places.
func bySlot(x []float64, n int) []float64 {
	medians := make([]float64, n)
	for j := range n {
		var same []float64
		for i := j; i < len(x); i += n {
			same = append(same, x[i])
		}
		medians[j] = median.Of(same)
	}
	return medians
}

// layAngles makes a wheel of the lengths of its intervals.
func layAngles(lengths []float64, spanDeg float64) *pattern {
	longest, total := 0, 0.0
	for j, length := range lengths {
		total += length
		if length > lengths[longest] {
			longest = j
		}
	}
	var w captures.Wheel
	turned := 0.0
	for j := range lengths {
		w.AnglesDeg = append(w.AnglesDeg, math.Round(10*spanDeg*turned/total)/10)
		turned += lengths[(longest+1+j)%len(lengths)]
	}
	return anglesPattern(w, spanDeg)
}

// intervals are the times between marks, and how many pitches each holds.
type intervals struct {
	samples []float64 // length
	pitches []float64 // estimate
	byLobe  []float64 // the same by the lobes alone
	byWidth []float64 // and by the pulses' widths, which follow the speed whatever the coil does
}

// leastPitch is the least number of pitches that is told apart: beside a lobe
// that is hardly there the estimate is noise.
const leastPitch = 0.25

// newIntervals estimates pitches by two clues of the local speed, so that
// neither a gap looks like a slow tooth nor a slow tooth like a gap: how long the
// intervals beside are, and how high the lobes at either end of the interval
// (a voltage is proportional to speed). Compression misleads the one, a wheel that
// runs out the other.
func newIntervals(marks []mark) intervals {
	in := lengthsAndLobes(marks, withinTurn)
	lengths := logarithms(overUsual(in.samples, withinTurn))
	in.estimate(mixed(lengths, logarithms(in.byLobe)))
	return in
}

// intervalsInRipple does so for a wheel that compressions slow down much: what is
// roughly a pitch the lobes tell alone, held against more of them.
func intervalsInRipple(marks []mark) intervals {
	in := lengthsAndLobes(marks, overTurns)
	in.estimate(logarithms(in.byLobe))
	return in
}

// What is usual near by, in teeth on either side: within a turn, over which a wheel
// that runs out makes its teeth weaker and stronger again; or over one and more.
const (
	withinTurn = 4
	overTurns  = 20
)

func lengthsAndLobes(marks []mark, near int) (in intervals) {
	for i := 1; i < len(marks); i++ {
		in.samples = append(in.samples, marks[i].at-marks[i-1].at)
	}
	in.byLobe, in.byWidth = lobeClue(marks, in.samples, near), widthClue(marks, in.samples, near)
	return in
}

// estimate takes the pitches from a rough guess at their logarithms.
func (in *intervals) estimate(rough []float64) {
	unit := logarithms(in.samples) // of the length of a pitch, roughly
	for i, pitches := range rough {
		unit[i] -= math.Log(max(1, math.Round(math.Exp(pitches))))
	}
	beside := make([]float64, len(unit))
	for i, length := range in.samples {
		beside[i] = math.Log(length) - besideAt(unit, i)
	}
	for _, pitches := range mixed(beside, logarithms(in.byLobe)) {
		in.pitches = append(in.pitches, max(leastPitch, math.Exp(pitches)))
	}
}

// mixed is a mean of two clues to logarithms of pitches: the one that strays less
// from tooth to tooth says more.
func mixed(a, b []float64) []float64 {
	strayA, strayB := stray(a), stray(b)
	share := strayB / (strayA + strayB)
	mean := make([]float64, len(a))
	for i := range mean {
		mean[i] = share*a[i] + (1-share)*b[i]
	}
	return mean
}

func logarithms(x []float64) []float64 {
	logs := make([]float64, len(x))
	for i, v := range x {
		logs[i] = math.Log(v)
	}
	return logs
}

// stray is how much the greater part of logarithms of pitches is off a single
// pitch: the median of their squares, never quite nothing.
func stray(logs []float64) float64 {
	squares := make([]float64, len(logs))
	for i, x := range logs {
		squares[i] = x * x
	}
	return median.Of(squares) + 1e-4
}

// besideAt draws the values beside i into the place of i by a parabola, or by
// their mean at the ends.
func besideAt(x []float64, i int) float64 {
	n := len(x)
	switch {
	case n == 1:
		return x[0]
	case i == 0:
		return x[1]
	case i == n-1:
		return x[n-2]
	case i == 1 || i == n-2:
		return (x[i-1] + x[i+1]) / 2
	}
	// Between one and two pitches away on either side of an interval of two.
	return 0.78125*(x[i-1]+x[i+1]) - 0.28125*(x[i-2]+x[i+2])
}

// lobeClue is each interval times the lobes' height at its ends, over what is
// usual near by.
func lobeClue(marks []mark, samples []float64, near int) []float64 {
	products := make([]float64, len(samples))
	for i, length := range samples {
		products[i] = length * math.Sqrt(max(marks[i].trough(), 1e-9)*max(marks[i+1].lobe(), 1e-9))
	}
	return overUsual(products, near)
}

// widthClue is each interval in widths of the pulses at its ends, over what is usual.
func widthClue(marks []mark, samples []float64, near int) []float64 {
	inWidths := make([]float64, len(samples))
	for i, length := range samples {
		inWidths[i] = length / (marks[i].own + marks[i+1].own)
	}
	return overUsual(inWidths, near)
}

// overUsual gives values as parts of what is usual near by.
func overUsual(x []float64, near int) []float64 {
	parts := median.Running(x, near)
	for i, usual := range parts {
		parts[i] = x[i] / usual
	}
	return parts
}

// lobe is the height of the half-wave before the fall, trough the depth of the
// one behind it.
func (m *mark) lobe() float64 {
	if m.peakV == m.peakV {
		return m.peakV
	}
	return m.flux / (1.4 * m.own)
}

func (m *mark) trough() float64 {
	if m.troughV > 0 {
		return m.troughV
	}
	return m.lobe()
}

// findPattern finds the order that repeats in a run of marks; nil where there
// is none or too little was seen. A pattern of n teeth has to be seen twice.
func findPattern(in intervals) *pattern {
	n := period(in.pitches)
	if n == 0 {
		return nil
	}
	pitches := layOut(in.inOrder(n), n)
	if n > 720 || pitches == nil || slices.Max(pitches) == 1 {
		return nil
	}
	return newPattern(shortest(pitches))
}

// turnsLaidOut are those of a stretch by which a wheel is laid out; of fewer, all
// that there is tells more.
const turnsLaidOut = 3

// inOrder are the intervals of the longest stretch in which an order of n is not
// broken.
func (in intervals) inOrder(n int) intervals {
	from, to := unbroken(in.pitches, n)
	if to-from < turnsLaidOut*n {
		return in
	}
	return intervals{in.samples[from:to], in.pitches[from:to], in.byLobe[from:to], in.byWidth[from:to]}
}

// unbroken is the longest stretch of intervals of which those n apart are all long
// or all short. Where the wave was lost, teeth were, and with them their order.
func unbroken(pitches []float64, n int) (from, to int) {
	begun := 0
	for i := range pitches {
		if i-n >= begun && (pitches[i] > longInterval) != (pitches[i-n] > longInterval) {
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

const longInterval = 1.5 // pitches, from which it holds a gap

// period is the number of intervals after which long ones come again; 0 where
// they do not.
func period(pitches []float64) int {
	var long []int
	for i, r := range pitches {
		if r > longInterval {
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
		if match >= 1 && 10*differ <= 2*match && similar(pitches, n) {
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
