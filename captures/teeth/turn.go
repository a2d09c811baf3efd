package teeth

import (
	"math"

	"armcurve/captures"
)

// gatherer puts passages together: each tooth with the speed at it, whole
// turns, the noise between teeth, all by speed.
type gatherer struct {
	w       *window
	info    captures.WaveInfo
	turnRPM float64 // rpm of the engine for one turn of the wheel per sample
	pattern func() *pattern
	watch   func(Passage)
	keep    func(captures.Tooth)
	revs    func(Revolution)
	count   *Measurement

	ring [ringLen]passage // newest last
	n    int

	turn    []toothAt // of the turn under way, from slot 0
	gains   []slotGain
	offsets []slotGain // of the teeth's times, in pitches
	calm    bool       // gains come from turns without much ripple
	humps   []humpProfile
	noise   residue // of the turn under way
	bins    bins
	loose   residue   // noise where no speed is known
	shapes  [64]shape // by the octave of the pitch's length
	prior   []float64 // peaks of the turn before, by slot, relative
}

// toothAt is a tooth with the speed at its fall and at its peak, turns per
// sample.
type toothAt struct {
	passage
	speed  float64
	atPeak float64
}

// slotGain is the mean relative height of one tooth of the wheel.
type slotGain struct{ mean, n float64 }

func (g *slotGain) learn(x float64) {
	g.n = min(g.n+1, 200)
	g.mean += (x - g.mean) / g.n
}

// Of the ring the middle six teeth bound the intervals that are compared; the
// rest smoothen their times.
const (
	ringLen = smoothed + 5
	newest  = ringLen - 1
	middle  = (ringLen - 6) / 2
)

// add takes the next passage.
func (g *gatherer) add(p passage) {
	copy(g.ring[:], g.ring[1:])
	g.ring[newest] = p
	g.n++
	g.passGap()
	if g.n >= 2 {
		g.settled(newest - 1)
	}
	if g.n >= ringLen {
		g.smoothen()
		g.between()
	}
}

// end settles the last tooth.
func (g *gatherer) end() {
	if g.n >= 1 {
		g.settled(newest)
	}
}

// joined tells that ring[i] follows ring[i−1] without a break in the count.
func (g *gatherer) joined(i int) bool {
	return i > 0 && i <= newest && g.n > ringLen-i && !g.ring[i].fresh && g.ring[i].at > g.ring[i-1].at
}

// part is the part of a turn from ring[i−1] to ring[i]; 0 where not known.
func (g *gatherer) part(i int) float64 {
	p := g.pattern()
	if p == nil || !g.joined(i) || g.ring[i].slot < 0 || g.ring[i-1].slot < 0 {
		return 0
	}
	return p.parts[g.ring[i-1].slot]
}

// settled gives out ring[i], whose neighbours on both sides are known.
func (g *gatherer) settled(i int) {
	turned, length := 0.0, 0.0
	for _, k := range []int{i, i + 1} {
		if k > newest {
			continue
		}
		if part := g.part(k); part > 0 {
			turned += part
			length += g.ring[k].at - g.ring[k-1].at
		}
	}
	t := toothAt{passage: g.ring[i], speed: math.NaN()}
	if length > 0 {
		t.speed = turned / length
		t.atPeak = t.speed
	}
	if part := g.part(i); part > 0 {
		// The peak lies half way between the fall and the interval's middle.
		t.atPeak = math.Sqrt(t.speed * part / (g.ring[i].at - g.ring[i-1].at))
	}
	g.give(t)
	g.gather(t)
}

func (g *gatherer) timeS(at float64) float64 { return g.info.StartS + at*g.info.StepS }

func (g *gatherer) give(t toothAt) {
	tooth := captures.Tooth{TimeS: g.timeS(t.at), Number: t.slot + 1, PeakV: t.peakV, RPM: t.speed * g.turnRPM}
	if t.clipped {
		tooth.PeakV = math.NaN()
	}
	if t.seen {
		g.count.Teeth++
	}
	if g.keep != nil && t.seen {
		g.keep(tooth)
	}
	if g.watch != nil {
		g.watch(Passage{Tooth: tooth, Seen: t.seen, At: t.at, RestV: t.restV})
	}
}

// gather puts a tooth into the turn under way and closes it where one is whole.
func (g *gatherer) gather(t toothAt) {
	p := g.pattern()
	if p == nil {
		return
	}
	if t.fresh || !t.seen || t.slot < 0 || len(g.turn) > 0 && t.slot != len(g.turn)%len(p.parts) {
		g.turn = g.turn[:0]
	}
	if t.slot == 0 && len(g.turn) == len(p.parts) && t.seen {
		g.close(p, t)
		g.turn = g.turn[:0]
	}
	if t.seen && (t.slot == 0 || len(g.turn) > 0) {
		g.turn = append(g.turn, t)
	}
}

// close works out a whole turn; next is the first tooth of the next.
func (g *gatherer) close(p *pattern, next toothAt) {
	if len(g.gains) != len(p.parts) {
		g.gains = make([]slotGain, len(p.parts))
		g.prior = nil
		g.humps = make([]humpProfile, len(p.parts))
	}
	start := g.turn[0].at
	mean := 1 / (next.at - start) // turns per sample
	t := turnSum{start: g.timeS(start), rpm: mean * g.turnRPM}
	speeds := 0.0
	for _, tooth := range g.turn {
		if p.afterGap(tooth.slot) && len(p.parts) > 1 {
			continue
		}
		t.teeth++
		t.peakV += tooth.peakV
		speeds += tooth.atPeak
		if tooth.clipped {
			t.clipped++
		}
	}
	if t.teeth == 0 {
		return
	}
	t.peakV /= float64(t.teeth)
	speeds /= float64(t.teeth)
	t.toothRPM = speeds * g.turnRPM
	t.ripple = ripple(g.turn, mean)
	t.width = (next.at - start) / float64(len(p.parts))
	t.relative = make([]float64, len(p.parts))
	t.level = make([]float64, len(p.parts))
	for j, tooth := range g.turn {
		t.relative[j] = tooth.peakV / t.peakV
		t.level[j] = t.relative[j] * speeds / tooth.atPeak
	}
	g.learnGains(&t)
	t.spread(g.prior, g.gains)
	g.prior = append(g.prior[:0], t.level...)
	t.humpV = g.hump(mean)
	t.noise = &g.noise
	g.bins.add(&t, len(p.parts))
	g.count.Revolutions++
	if g.revs != nil {
		g.revs(t.revolution())
	}
	before := g.noise.before
	g.noise = residue{before: before}
}

// calmRipple is the ripple up to which a tooth's height tells about the tooth and
// not about the speed at it.
const calmRipple = 0.08

// learnGains takes the teeth's relative heights, from calm turns if there are any.
func (g *gatherer) learnGains(t *turnSum) {
	isCalm := t.ripple < calmRipple
	if g.calm && !isCalm {
		return
	}
	if isCalm && !g.calm {
		clear(g.gains)
		clear(g.offsets)
		g.calm = true
	}
	for j, level := range t.level {
		if !math.IsNaN(level) {
			g.gains[j].learn(level)
		}
	}
}

// ripple is how far the slowest tooth of a turn falls below the mean speed, as a
// part of it, when the turn's even gain or loss of speed is taken away.
func ripple(turn []toothAt, mean float64) float64 {
	first, last := turn[0], turn[len(turn)-1]
	gain := 0.0
	if last.at > first.at {
		gain = (last.speed - first.speed) / (last.at - first.at)
	}
	middle := (first.at + last.at) / 2
	slowest := math.Inf(1)
	for _, t := range turn {
		slowest = min(slowest, t.speed-gain*(t.at-middle))
	}
	return max(0, (mean-slowest)/mean)
}

// turnSum is one revolution of the wheel.
type turnSum struct {
	start    float64
	rpm      float64 // of the engine, over the whole turn
	toothRPM float64 // mean over the teeth that make the mean peak
	teeth    int
	peakV    float64
	ripple   float64
	clipped  int
	relative []float64 // peak of each tooth over the mean
	level    []float64 // the same, with the speed at the tooth taken out
	variance float64   // of a tooth's level about its mean
	odd      float64   // lowest relative height of a tooth that was low this once; 0 none
	humpV    float64   // NaN without a gap
	noise    *residue
	width    float64 // samples per tooth
}

// spread compares the levels with those of the turn before.
func (t *turnSum) spread(prior []float64, gains []slotGain) {
	if len(prior) != len(t.level) {
		t.variance = math.NaN()
		return
	}
	sum := 0.0
	for j, level := range t.level {
		d := level - prior[j]
		sum += d * d / 2
	}
	t.variance = sum / float64(len(t.level))
	if t.ripple > calmRipple {
		return
	}
	sd := math.Sqrt(t.variance)
	for j, level := range t.level {
		if gains[j].n >= 5 && gains[j].mean-level > max(6*min(sd, 0.1), 0.15) && (t.odd == 0 || t.relative[j] < t.odd) {
			t.odd = max(t.relative[j], 1e-6)
		}
	}
}

func (t *turnSum) revolution() Revolution {
	lowest := math.Inf(1)
	for _, r := range t.relative {
		lowest = min(lowest, r*t.peakV)
	}
	r := Revolution{StartS: t.start, RPM: t.rpm, PeakV: captures.Finite(t.peakV), WeakestV: captures.Finite(lowest), Ripple: t.ripple}
	if sigma, largest, _, ok := t.noise.body(); ok {
		k := math.Sqrt(t.noise.factor())
		r.NoiseRMSV, r.NoiseV = captures.Some(sigma/k), captures.Some(largest/k)
	}
	return r
}

// factor is by how much the residue's variance exceeds the noise's.
func (r *residue) factor() float64 {
	return beside(math.Cos(2 * math.Pi * float64(r.rises) / float64(max(r.n, 1))))
}

// between measures noise in the middle interval of the ring, where the five
// about it are alike, and the wave's shape.
func (g *gatherer) between() {
	p := g.pattern()
	var b neighbours
	wide := p == nil || len(p.parts) >= 8
	for i := range b.at {
		t := &g.ring[middle+i]
		if t.clipped || i > 0 && !g.alike(p, i, wide) {
			return
		}
		b.at[i], b.gain[i] = g.timeOf(t), 1
		if p != nil && t.slot >= 0 && len(g.gains) == len(p.parts) && g.gains[t.slot].n > 0 {
			b.gain[i] = max(g.gains[t.slot].mean, 0.05)
		}
	}
	if !b.even() {
		return
	}
	b.rest = (g.ring[middle+2].restV + g.ring[middle+3].restV) / 2
	if b.at[1] < float64(g.w.first)+4 || b.at[5] > float64(g.w.end())-4 {
		return
	}
	g.shapes[min(63, int(max(0, math.Log2(b.at[3]-b.at[2]))))].add(g.w, b.at[2], b.at[3])
	switch {
	case p == nil:
		b.compare(g.w, &g.loose)
	case len(g.gains) > 0:
		b.compare(g.w, &g.noise)
	}
}

// alike tells that the i-th interval of the middle is a single pitch with both
// its teeth there.
func (g *gatherer) alike(p *pattern, i int, wide bool) bool {
	from, to := &g.ring[middle+i-1], &g.ring[middle+i]
	if !g.joined(middle+i) || !from.seen || !to.seen {
		return false
	}
	length := to.at - from.at
	if p == nil || p.wheel.Pitches == 0 {
		usual := g.ring[middle+3].at - g.ring[middle+2].at
		return length > 0.75*usual && length < 1.33*usual
	}
	if !wide && (i == 1 || i == 5) {
		return true
	}
	return from.slot >= 0 && p.regular(from.slot)
}
