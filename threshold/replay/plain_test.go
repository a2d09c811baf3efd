package replay

import (
	"math"
	"slices"
	"sort"

	"gonum.org/v1/gonum/stat"

	"armcurve/captures"
	"armcurve/captures/teeth"
)

// recording is a wave and its teeth as they were measured.
type recording struct {
	info   captures.WaveInfo
	v      []float64
	passed []teeth.Passage
}

func (r *recording) Wave(_ int64, v []float64) { r.v = append(r.v, v...) }
func (r *recording) Tooth(p teeth.Passage)     { r.passed = append(r.passed, p) }

// plainReplay is the whole comparator once more, in the plainest words: sample
// by sample over a wave in memory, and events compared with every tooth. It
// shares nothing with the package but its options and the list it is compared
// by.
func plainReplay(w *recording, o Options, turn int) []Event {
	signal, rest := plainSignal(w, o, turn)
	events := plainEvents(w, o, signal, rest, turn)
	return plainMatch(w, o, signal, rest, events, turn)
}

// plainSignal is the wave behind filter and clamp, and the rest level of every
// sample.
func plainSignal(w *recording, o Options, turn int) (signal, rest []float64) {
	signal, rest = make([]float64, len(w.v)), make([]float64, len(w.v))
	y := w.v[0]
	for i, x := range w.v {
		signal[i] = x
		if o.FilterHz.Known && i > 0 {
			// dy/dt = (x − y)·ω with x on a straight line, solved over a step.
			wt := 2 * math.Pi * o.FilterHz.Value * w.info.StepS
			slope := (x - w.v[i-1]) / wt
			y = x - slope + (y-w.v[i-1]+slope)*math.Exp(-wt)
			signal[i] = y
		}
	}
	k, levels := 0, plainSteps(w, signal, plainRest(w, turn))
	for i := range rest {
		for k < len(w.passed)-1 && int64(i) >= int64(w.passed[k].At)+1 {
			k++
		}
		rest[i] = levels[k]
	}
	return signal, rest
}

// plainRest is the rest level at every tooth: at the first 200, or those of 2^18 samples,
// what they tell together, without what is told of less than a block. A block is 40 teeth,
// or the whole turns of that. From five of them on it is the mean of the middle half, unless
// that over the last 200 teeth is four of its standard deviations off and 0.2 % of the
// teeth's height: then blocks are met anew. Changes under 0.05 % of that height are none,
// and a level told twice is told once.
func plainRest(w *recording, turn int) []float64 {
	wait := plainWait(w)
	block := turn
	for block+turn <= 40 {
		block += turn
	}
	from := max(40, turn)
	if wait <= from {
		from = 0
	}
	levels := make([]float64, len(w.passed))
	var blocks []float64
	last, height, met, since, level := 0.0, 0.0, 0.0, 0, 0.0
	for k := from; k < len(w.passed); k++ {
		v := w.passed[k].RestV
		levels[k] = level
		if k > from && v == w.passed[k-1].RestV {
			continue
		}
		met = min(met+1, 200)
		last += (v - last) / met
		if peak := w.passed[k].PeakV; !math.IsNaN(peak) {
			height += (peak - height) / met
		}
		told := last
		if since++; since%block == 0 {
			blocks = append(blocks, v)
		}
		if len(blocks) >= 5 {
			told, blocks = plainMoved(last, height, block, blocks)
		}
		if math.Abs(told-level) > 0.0005*height {
			level = told
		}
		levels[k] = level
	}
	for k := range wait {
		levels[k] = levels[wait-1]
	}
	return levels
}

// plainSteps takes levels within a tenth of an instrument's step of one for a hundredth
// above it, a step being the distance of the samples on either side of the first level, up
// to the last of the first teeth.
func plainSteps(w *recording, signal, levels []float64) []float64 {
	wait := plainWait(w)
	seen := slices.Clone(signal[:min(len(signal), max(0, int(w.passed[wait-1].At)+1))])
	sort.Float64s(seen)
	k := sort.Search(len(seen), func(i int) bool { return seen[i] > levels[0] })
	if k == 0 || k == len(seen) {
		return levels
	}
	base, size := seen[k-1], seen[k]-seen[k-1]
	if seen[k]-levels[0] < levels[0]-base {
		base = seen[k]
	}
	out := slices.Clone(levels)
	for i, level := range levels {
		if steps := (level - base) / size; math.Abs(steps-math.Round(steps)) <= 0.1 {
			out[i] = base + (math.Round(steps)+0.01)*size
		}
	}
	return out
}

// plainWait is the number of the first teeth.
func plainWait(w *recording) int {
	wait := 1
	for wait < min(200, len(w.passed)) && w.passed[wait-1].At-w.passed[0].At <= 1<<18 {
		wait++
	}
	return wait
}

// plainMoved is the level by blocks, or that of the last teeth and no blocks.
func plainMoved(last, height float64, block int, blocks []float64) (float64, []float64) {
	sorted := slices.Clone(blocks)
	sort.Float64s(sorted)
	middle := sorted[len(sorted)/4 : len(sorted)-len(sorted)/4]
	mean, deviation := stat.Mean(middle, nil), (middle[len(middle)-1]-middle[0])/1.349
	if math.Abs(last-mean) > max(4*deviation*math.Sqrt(float64(block)/400), 0.002*height) {
		return last, nil
	}
	return mean, blocks
}

type plainEvent struct {
	start            int // first sample above the firing level
	at, fall, height float64
	thresholdV       float64
}

func plainEvents(w *recording, o Options, signal, rest []float64, turn int) []plainEvent {
	var events []plainEvent
	var times []float64
	rpm, pitch := 0.0, 0.0
	armed, start, rise, height := false, 0, 0.0, 0.0
	perTurn := 60 / w.info.StepS * o.turnsPerWheel()
	for i := range signal {
		threshold := o.Tables[0].At(rpm).Or(math.Inf(1))
		x := min(signal[i]-rest[i], o.ClampV.Or(math.Inf(1)))
		before := min(signal[max(i-1, 0)]-rest[i], o.ClampV.Or(math.Inf(1)))
		if x > -o.HysteresisV/2 {
			height = max(height, x)
		}
		if !armed && x > threshold && x > -o.HysteresisV/2 {
			armed = true
			rise = float64(i)
			if before < threshold {
				rise = float64(i) - (x-threshold)/(x-before)
			}
		}
		if x > -o.HysteresisV/2 {
			continue
		}
		if armed {
			level := -o.HysteresisV / 2
			fall := float64(i) - (level-(signal[i]-rest[i]))/((signal[i-1]-rest[i])-(signal[i]-rest[i]))
			e := plainEvent{start: start, at: fall, fall: fall, height: height, thresholdV: threshold}
			if o.CountsOn == Level {
				e.at = rise
			}
			events, times = append(events, e), append(times, e.at)
			rpm, pitch = plainSpeed(o, times, turn, perTurn, rpm, pitch)
			armed = false
		}
		start, height = i+1, 0
	}
	return events
}

func plainSpeed(o Options, times []float64, turn int, perTurn, rpm, pitch float64) (float64, float64) {
	n := len(times)
	if o.SpeedFrom == Revolution || o.Wheel.Pitches < 2 {
		if n > turn {
			rpm = perTurn / (times[n-1] - times[n-1-turn])
		}
		return rpm, pitch
	}
	if n < 2 {
		return rpm, pitch
	}
	length := times[n-1] - times[n-2]
	pitches := []float64{1}
	for _, m := range o.Wheel.Missing {
		pitches = append(pitches, float64(m+1))
	}
	sort.Float64s(pitches)
	best := pitches[0]
	for _, p := range pitches {
		if pitch > 0 && math.Abs(math.Log(length/pitch/p)) < math.Abs(math.Log(length/pitch/best)) {
			best = p
		}
	}
	return perTurn / (length / best * float64(o.Wheel.Pitches)), length / best
}

// plainMatch gives the misses and false events in order of time.
func plainMatch(w *recording, o Options, signal, rest []float64, events []plainEvent, turn int) []Event {
	pitchOf := func(k int) float64 {
		p := math.Inf(1)
		if k > 0 {
			p = w.passed[k].At - w.passed[k-1].At
		}
		if k+1 < len(w.passed) {
			p = min(p, w.passed[k+1].At-w.passed[k].At)
		}
		return p
	}
	own := make([]int, len(w.passed))
	for k := range own {
		own[k] = -1
	}
	nearestTo := make([]int, len(events))
	for i, e := range events {
		next := sort.Search(len(w.passed), func(k int) bool { return w.passed[k].At >= e.fall })
		best := max(next-1, 0)
		for k := best; k < min(next+1, len(w.passed)); k++ {
			if math.Abs(w.passed[k].At-e.fall) < math.Abs(w.passed[best].At-e.fall) {
				best = k
			}
		}
		nearestTo[i] = best
		d := math.Abs(w.passed[best].At - e.fall)
		if d > 0.3*pitchOf(best) {
			continue
		}
		if own[best] < 0 || d < math.Abs(w.passed[best].At-events[own[best]].fall) {
			own[best] = i
		}
	}
	before, start := plainBefore(w, o), 0
	for start < len(signal) && signal[start]-rest[start] <= -o.HysteresisV/2 {
		start++
	}
	isLeft := func(e plainEvent) bool { // of the tooth before the first
		return e.start == start && before < pitchOf(0)/2 && math.Abs(e.fall-before) < 0.3*pitchOf(0)
	}
	isBetween := func(fall float64) bool { // the teeth, where the first turn shows them
		return w.passed[0].At-fall <= 4*pitchOf(0) && plainIsBetween(w, o, turn, fall, 0.3*pitchOf(0))
	}
	var out []Event
	for i, e := range events {
		k := nearestTo[i]
		p := w.passed[k]
		reach := 0.3 * pitchOf(k)
		isLikeTooth := (k == 0 || k == len(w.passed)-1) && math.Abs(e.fall-p.At) > reach && e.height >= plainHeight(o, signal, rest, p.At, reach)/2
		switch {
		case own[k] == i:
		case k == 0 && e.fall < p.At && (p.At < 4*pitchOf(0) || p.RPM > o.crankingTopRPM()) && (e.start == 0 || isLikeTooth || isLeft(e)) &&
			!isBetween(e.fall):
		case k == len(w.passed)-1 && e.fall > p.At && float64(len(signal))-p.At < 4*pitchOf(k) &&
			isLikeTooth && !(e.fall < plainNext(w.passed, turn)-0.3*pitchOf(k)):
		default:
			out = append(out, Event{TimeS: w.info.StartS + e.fall*w.info.StepS, False: true, SignalV: e.height, ThresholdV: captures.Finite(e.thresholdV)})
		}
	}
	for k, p := range w.passed {
		if own[k] < 0 && !(k == 0 && p.At < pitchOf(0)) {
			out = append(out, Event{TimeS: w.info.StartS + p.At*w.info.StepS, Unseen: !p.Seen, Tooth: p.Number})
		}
	}
	sort.SliceStable(out, func(i, j int) bool { return out[i].TimeS < out[j].TimeS })
	return out
}

// plainBefore is where the tooth before the first one fell, at the speed of that; far off where that is not known.
func plainBefore(w *recording, o Options) float64 {
	first, places := w.passed[0], o.Wheel.Positions
	if first.Number == 0 || len(places) == 0 || !(first.RPM > 0) {
		return math.Inf(1)
	}
	pitches := o.Wheel.Pitches - places[len(places)-1]
	if k := first.Number - 1; k > 0 {
		pitches = places[k] - places[k-1]
	}
	return first.At - 60/w.info.StepS*o.turnsPerWheel()/first.RPM*float64(pitches)/float64(o.Wheel.Pitches)
}

// plainIsBetween tells that the wheel of the first whole turn has no tooth at a position before
// the first, at the speed of that.
func plainIsBetween(w *recording, o Options, turn int, at, reach float64) bool {
	first := 0
	for w.passed[first].Number != 1 || first+turn < len(w.passed) && w.passed[first+turn].Number != 1 {
		if first++; first+turn >= len(w.passed) {
			return false
		}
	}
	number := w.passed[0].Number
	places := plainPlaces(w.passed[first : first+turn+1])
	if number == 0 || o.OnCam || places == nil || !(w.passed[0].RPM > 0) {
		return false
	}
	whole := 60 / w.info.StepS * o.turnsPerWheel() / w.passed[0].RPM
	for _, p := range places {
		for turns := -2.0; turns <= 2; turns++ {
			if tooth := w.passed[0].At + (p-places[number-1]+turns)*whole; math.Abs(tooth-at) < reach {
				return false
			}
		}
	}
	return true
}

// plainPlaces are those of the teeth of a turn, the first twice, in turns; nil where they are not whole pitches apart.
func plainPlaces(turn []teeth.Passage) []float64 {
	var ways []float64
	for k := range turn[1:] {
		ways = append(ways, (turn[k+1].At-turn[k].At)*(turn[k].RPM+turn[k+1].RPM))
	}
	sorted := slices.Clone(ways)
	sort.Float64s(sorted)
	pitch, whole := sorted[(len(sorted)-1)/2], 0.0
	var places []float64
	for _, way := range ways {
		n := math.Round(way / pitch)
		if n < 1 || math.Abs(way/pitch-n) >= 0.25 {
			return nil
		}
		places = append(places, whole)
		whole += n
	}
	for k := range places {
		places[k] /= whole
	}
	return places
}

// plainHeight is how high the wave rises before it falls within reach of a tooth.
func plainHeight(o Options, signal, rest []float64, at, reach float64) float64 {
	highest, height := 0.0, 0.0
	for i := range signal {
		x, level := signal[i]-rest[i], -o.HysteresisV/2
		if x > level {
			height = max(height, min(x, o.ClampV.Or(math.Inf(1))))
			continue
		}
		if i > 0 && signal[i-1]-rest[i] > level {
			fall := float64(i) - (level-x)/(signal[i-1]-signal[i])
			if math.Abs(fall-at) <= reach {
				highest = max(highest, height)
			}
		}
		height = 0
	}
	return highest
}

// plainNext is where the tooth behind the last should be, by the turn before.
func plainNext(passed []teeth.Passage, turn int) float64 {
	n := len(passed)
	if turn == 0 || n < turn+2 || passed[n-1-turn].Number != passed[n-1].Number {
		return math.NaN()
	}
	a, b, c := passed[n-2-turn].At, passed[n-1-turn].At, passed[n-turn].At
	return passed[n-1].At + (passed[n-1].At-passed[n-2].At)/(b-a)*(c-b)
}
