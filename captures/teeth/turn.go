package teeth

import (
	"math"
	"math/bits"

	"armcurve/captures"
	"armcurve/captures/teeth/lobes"
	"armcurve/captures/teeth/noise"
	"armcurve/captures/teeth/numbering"
	"armcurve/captures/teeth/spikes"
	"armcurve/captures/teeth/wheels"
)

// gatherer puts passages together: each tooth with the speed at it, whole
// turns, the noise between teeth, all by speed.
type gatherer struct {
	w       *window
	info    captures.WaveInfo
	turnRPM float64 // rpm of the engine for one turn of the wheel per sample
	onCam   bool
	pattern *wheels.Pattern
	watcher Watcher
	shown   int64 // position up to which it has seen the wave
	keep    func(captures.Tooth)
	track   *Track // nil: not kept
	revs    func(Revolution)
	count   *Measurement

	passed   []numbering.Tooth // of which ring are the last
	ring     []numbering.Tooth // ringLen of them, newest last
	n        int
	streak   int // passages up to the newest without a break, all compared
	schedule noise.Schedule
	tones    noise.ToneSeparator
	spikes   spikes.Finder
	points   points

	turn      []toothAt // of the turn under way, from slot 0
	ends      ends
	latest    placed // the tooth that was settled last
	listed    placer
	placer    placer // of the teeth that turns are made of
	matcher   matcher
	smoothers []smoother
	measuring bool // to the interval up to the newest
	apart     bool // noise is measured between the teeth alone
	gains     []slotGain
	scatter   slotGain   // variance of a tooth's height from turn to turn
	offsets   []slotGain // of the teeth's times, in pitches
	farthest  []slotGain // sample about each tooth, over its peak
	steps     []slotGain // flux that each tooth loses for good, over the mean pulse
	pulses    []slotGain // flux of each tooth's whole pulse, over their mean
	calm      bool       // gains come from turns without much ripple
	humps     []humpProfile
	noise     noise.ByMethod // of the turn under way
	before    course         // of the turn before
	first     *turnSum       // the one before is the first in a row and not yet in its bin
	half      int            // of the engine's cycle that it was
	turnLen   float64        // samples in it
	bins      bins
	shapes    [64]shape    // by the octave of the pitch's length
	cut       shape        // of what stands at the end of the range
	prior     [2][]float64 // levels of the turns before, by the half of the cycle
	turns     []crankTurn
	firstRPM  float64 // of the first turn
	rpm, flux float64 // of the turn before: its speed, and its amplitude over it
	ripple    float64 // and its ripple

	relative, level, pace, seen, fluxes []float64 // of the turn being closed
}

// toothAt is a tooth with the speed at its fall and at its peak, turns per
// sample.
type toothAt struct {
	slot    int
	at      float64
	top     float64
	peakV   float64
	clipped bool
	marred  bool
	struck  bool
	farV    float64
	step    float64
	flux    float64
	speed   float64
	atPeak  float64
	doubt   float64 // variance of its height, relative, as the wave about its top alone tells it in strong noise
}

// slotGain is the mean relative height of one tooth of the wheel.
type slotGain struct{ mean, n float64 }

func (g *slotGain) learn(x float64) { g.learnOver(x, 200) }

// learnOver forgets what is older than so many.
func (g *slotGain) learnOver(x, most float64) {
	if math.IsNaN(x) {
		return
	}
	g.n = min(g.n+1, most)
	g.mean += (x - g.mean) / g.n
}

// Of the ring the middle six teeth bound the intervals that are compared; the
// rest smoothen their times.
const (
	ringLen = smoothed + 5
	newest  = ringLen - 1
	middle  = (ringLen - 6) / 2
)

// begin makes room for passages.
func (g *gatherer) begin() {
	g.passed = make([]numbering.Tooth, ringLen, 16*ringLen)
	g.ring = g.passed
	g.placeBy(nil)
}

// placeBy has the teeth of a wheel placed by its even turning.
func (g *gatherer) placeBy(p *wheels.Pattern) {
	g.listed = newPlacer(p, g.turnRPM, longestReach, false, g.tell)
	g.placer = newPlacer(p, g.turnRPM, settledTeeth, true, g.gather)
}

// follow numbers the passages to come by a wheel.
func (g *gatherer) follow(p *wheels.Pattern) {
	n := len(p.Parts)
	g.pattern = p
	g.listed.end()
	g.placeBy(p)
	g.matcher = newMatcher(p)
	g.gains, g.offsets, g.humps = make([]slotGain, n), make([]slotGain, n), make([]humpProfile, n)
	g.farthest, g.pulses, g.steps = make([]slotGain, n), make([]slotGain, n), make([]slotGain, n)
	g.smoothers = newSmoothers(p)
	g.apart = p.StandsApart()
	g.relative, g.level, g.pace, g.seen, g.fluxes = make([]float64, n), make([]float64, n), make([]float64, n), make([]float64, n), make([]float64, n)
	g.schedule.Turn = n
	g.tones.Begin(p.Wheel.Pitches)
	g.spikes.Begin(p.Wheel, g.info.StepS)
	g.passed = append(make([]numbering.Tooth, 0, max(cap(g.passed), 8*g.memory())), g.passed...)
	g.ring = g.passed[len(g.passed)-ringLen:]
}

// memory is the number of passages that are kept.
func (g *gatherer) memory() int {
	if g.pattern == nil {
		return ringLen
	}
	return max(ringLen, 2*len(g.pattern.Parts)+4+2*g.settling())
}

// add takes the next passage.
func (g *gatherer) add(p numbering.Tooth) {
	if len(g.passed) == cap(g.passed) {
		g.passed = g.passed[:copy(g.passed, g.passed[len(g.passed)-g.memory():])]
	}
	g.passed = append(g.passed, p)
	g.ring = g.passed[len(g.passed)-ringLen:]
	g.n++
	g.ring[newest].Turned = g.ring[newest-1].Turned + g.part(newest)
	g.passGap()
	if g.n >= 2 {
		g.settled(newest - 1)
	}
	g.measureNoise()
}

// needs is the position from which the wave has to be kept.
func (g *gatherer) needs() int64 {
	need := int64(math.MaxInt64)
	if g.n > 0 {
		need = int64(g.oldest().At) - 8
	}
	if g.watcher != nil {
		need = min(need, g.shown)
	}
	return need
}

// oldest is the first passage beside which the wave may be looked at again, when the
// next one has come.
func (g *gatherer) oldest() *numbering.Tooth {
	behind := ringLen - (middle + 1) // of which the six amid the ring are compared
	if g.apart {
		behind = 1
	}
	if g.comparesTurns() {
		behind = max(behind, 2*len(g.pattern.Parts)+2+g.settling())
	}
	if g.listed.asksOthers() {
		behind = max(behind, len(g.listed.run)-g.listed.next+3)
	}
	return &g.passed[len(g.passed)-min(behind, g.n)]
}

// end settles the last tooth.
func (g *gatherer) end() {
	if g.n >= 1 {
		g.settled(newest)
	}
	g.listed.end()
	g.placer.end()
	g.placeFirst(0)
	g.tones.Finish()
	if g.watcher != nil {
		g.showTo(g.w.samples)
	}
}

// joined tells that ring[i] follows ring[i−1] without a break in the count.
func (g *gatherer) joined(i int) bool {
	return i > 0 && i <= newest && g.n > ringLen-i && !g.ring[i].Fresh && g.ring[i].At > g.ring[i-1].At
}

// part is the part of a turn from ring[i−1] to ring[i]; 0 where not known.
func (g *gatherer) part(i int) float64 {
	p := g.pattern
	if p == nil || !g.joined(i) || g.ring[i].Slot < 0 || g.ring[i-1].Slot < 0 {
		return 0
	}
	return p.Parts[g.ring[i-1].Slot]
}

// seekSpikes looks for them in the interval up to ring[i].
func (g *gatherer) seekSpikes(i int) {
	from, to := &g.ring[i-1], &g.ring[i]
	w := &g.pattern.Wheel
	if w.Pitches > 0 && from.Seen && to.Seen && !from.Clipped && !to.Clipped {
		pitches := int(math.Round(g.pattern.Parts[from.Slot] * float64(w.Pitches)))
		g.spikes.Look(g.w.first, g.w.v, from.At, to.At, w.Positions[from.Slot], pitches)
	}
}

// settled gives out ring[i], whose neighbours on both sides are known.
func (g *gatherer) settled(i int) {
	p := &g.ring[i]
	t := toothAt{slot: p.Slot, at: p.At, top: p.Top, peakV: p.PeakV, clipped: p.Clipped, marred: p.Marred, struck: p.Struck, farV: p.FarV, step: p.Step, flux: p.Flux, speed: math.NaN(), atPeak: math.NaN()}
	before, after := g.part(i), 0.0
	var lengthBefore, lengthAfter float64
	if before > 0 {
		lengthBefore = p.At - g.ring[i-1].At
	}
	if i < newest {
		if after = g.part(i + 1); after > 0 {
			lengthAfter = g.ring[i+1].At - p.At
		}
	}
	if length := lengthBefore + lengthAfter; length > 0 {
		t.speed = (before + after) / length
		t.atPeak = t.speed
		if before > 0 && after > 0 {
			// Speed changes evenly from the middle of one interval to that of the other,
			// and from the middle of both together to the peak.
			speedBefore, speedAfter := before/lengthBefore, after/lengthAfter
			middle := p.At + (lengthAfter-lengthBefore)/2
			t.atPeak += (speedAfter - speedBefore) * (p.Top - middle) / (length / 2)
			t.atPeak = max(t.atPeak, min(speedBefore, speedAfter)/2)
		}
	}
	if before > 0 && g.measuring {
		g.seekSpikes(i)
	}
	g.latest = placed{
		Passage: Passage{Tooth: captures.Tooth{Number: p.Slot + 1, PeakV: p.PeakV, RPM: t.speed * g.turnRPM}, Seen: p.Seen, At: p.At, RestV: p.RestV},
		slot:    p.Slot, balance: p.Balance, noise: max(p.Noise, g.matcher.mean.Share(1/t.speed)), crest: p.Curve,
		tooth: t, fresh: p.Fresh,
	}
	if g.pattern != nil {
		g.placer.add(&g.latest)
	}
	g.give(&g.latest)
}

func (g *gatherer) timeS(at float64) float64 { return timeAt(g.info, at) }

// timeAt is the file's own time at a position, seconds.
func timeAt(info captures.WaveInfo, at float64) float64 { return info.StartS + at*info.StepS }

// give passes a tooth on to those who want each.
func (g *gatherer) give(p *placed) {
	if p.Seen {
		g.count.Teeth++
	}
	if g.keep == nil && g.watcher == nil && g.track == nil {
		return
	}
	if p.tooth.clipped {
		p.PeakV = math.NaN()
	}
	g.listed.add(p)
}

// tell does so once its place is known.
func (g *gatherer) tell(t *placed) {
	g.match(t, false)
	p := t.Passage
	p.TimeS = g.timeS(p.At)
	if g.keep != nil && p.Seen {
		g.keep(p.Tooth)
	}
	if g.watcher != nil {
		g.show(p)
	}
	if g.track != nil {
		g.track.add(p)
	}
}

// gather puts a tooth into the turn under way and closes it where one is whole.
func (g *gatherer) gather(p *placed) {
	g.match(p, true)
	t := &p.tooth
	t.top, t.peakV = t.top+p.moved, p.PeakV
	n := len(g.pattern.Parts)
	if p.fresh || !p.Seen || t.slot < 0 || len(g.turn) > 0 && t.slot != len(g.turn)%n {
		g.turn = g.turn[:0]
		g.spikes.Reset()
		g.ends.breakOff()
	}
	if t.slot == 0 && len(g.turn) == n && p.Seen {
		g.close(g.pattern, t)
		g.turn = g.ends.closeTurn(g.turn)
	}
	switch {
	case p.Seen && (t.slot == 0 || len(g.turn) > 0):
		g.turn = append(g.turn, *t)
	case p.Seen && !g.ends.begun && t.slot > 0:
		g.ends.lead = append(g.ends.lead, *t)
	}
}

// close works out a whole turn; next is the first tooth of the next.
func (g *gatherer) close(p *wheels.Pattern, next *toothAt) {
	t := g.sum(p, next)
	if t.teeth == 0 {
		return
	}
	if g.unlikely(&t) {
		g.noise.Reset()
		g.spikes.Reset()
		g.tones.Discard()
		return
	}
	t.ripple = ripple(g.turn, t.speed)
	t.half = g.halfOf(&t.course)
	g.ripple, g.turnLen = t.ripple, next.at-g.turn[0].at
	g.takeLevels(&t)
	g.learnGains(&t)
	t.spread(g.priorLevels(&t), g.gains, g.turn, func(j int) float64 { return g.taken(j, t.toothFlux) })
	g.scatter.learn(t.variance)
	g.prior[t.half] = append(g.prior[t.half][:0], t.level...)
	t.humpV = g.hump(t.speed)
	t.noise, t.extents, t.lobes = &g.noise, g.spikes.Extents(), g.matcher.turn
	g.matcher.turn = nil
	g.place(&t)
	g.keepTurn(p, next)
	if g.count.Revolutions == 0 {
		g.firstRPM = t.rpm
	}
	g.count.Revolutions++
	if g.revs != nil {
		g.revs(t.revolution())
	}
	g.noise.Reset()
	g.spikes.Reset()
}

// sum takes the means over a turn's teeth; none of the peaks that something
// struck or that a gap enlarges.
func (g *gatherer) sum(p *wheels.Pattern, next *toothAt) turnSum {
	t := turnSum{start: g.timeS(g.turn[0].at), course: course{g.turn[0].at, next.at}}
	t.speed = t.course.speed()
	t.rpm = t.speed * g.turnRPM
	for i := range g.turn {
		tooth := &g.turn[i]
		// Of all teeth: what moves a fall makes one interval short and the next long.
		t.toothSpeed += tooth.atPeak
		if tooth.marred || p.AfterGap(tooth.slot) && len(p.Parts) > 1 {
			continue
		}
		t.teeth++
		t.peakV += tooth.peakV
		t.peakRPM += tooth.atPeak * g.turnRPM
		t.peakAt += t.course.fromMiddle(tooth.top)
		t.toothFlux += tooth.flux
		if tooth.clipped {
			t.clipped++
		}
	}
	t.peakV /= float64(t.teeth)
	t.peakRPM /= float64(t.teeth)
	t.toothFlux /= float64(t.teeth)
	t.toothSpeed /= float64(len(g.turn))
	t.peakAt /= float64(t.teeth)
	return t
}

// takeLevels compares each tooth of a turn with the turn's mean.
func (g *gatherer) takeLevels(t *turnSum) {
	t.relative, t.level, t.pace, t.flux = g.relative, g.level, g.pace, g.fluxes
	for j := range g.turn {
		tooth := &g.turn[j]
		t.pace[j] = tooth.atPeak / t.toothSpeed
		t.level[j] = tooth.peakV / t.peakV / t.pace[j]
		if tooth.marred {
			t.level[j] = g.usualLevel(j)
		}
		t.relative[j] = t.level[j] * t.pace[j]
		t.flux[j] = tooth.flux / t.toothFlux
		g.pulses[j].learn(t.flux[j])
		g.steps[j].learn(tooth.step / t.toothFlux)
	}
	for j := range g.turn {
		g.farthest[j].learn(g.turn[j].farV / t.peakV / g.usualReach(t, j))
	}
}

// usualReach is how far a wave that nothing strikes goes between tooth j and the one
// before, over the mean peak: as far as about the faster of the two. How the speed goes
// between few teeth their times do not show where it ripples, but their peaks do, on
// which a spark is but a needle at so low a speed.
func (g *gatherer) usualReach(t *turnSum, j int) float64 {
	before := max(0, j-1)
	reach := max(t.pace[j], t.pace[before])
	if t.ripple > calmRipple {
		reach = max(reach, t.relative[j], t.relative[before])
	}
	return reach
}

// mostSpeed is the ratio up to which speeds follow each other without a doubt.
const mostSpeed = 1.4

// unlikely tells that a turn is nothing like the one before, in speed or in
// amplitude over speed, as where noise was counted or the count was wrong. What
// comes twice in a row is believed, and so is a speed that the teeth show to be reached
// step by step, as when an engine starts.
func (g *gatherer) unlikely(t *turnSum) bool {
	const mostFlux = 3
	rpm, flux := t.rpm, t.peakV/t.rpm
	beforeRPM, beforeFlux := g.rpm, g.flux
	g.rpm, g.flux = rpm, flux
	t.gradual = gradual(g.turn)
	if !(beforeRPM > 0) {
		return false
	}
	return !t.gradual && !within(rpm, beforeRPM, mostSpeed) || flux*beforeFlux > 0 && !within(flux, beforeFlux, mostFlux)
}

// gradual tells that many teeth show a turn's speed, and no step from one to the next
// that a tooth too few or too many would make.
func gradual(turn []toothAt) bool {
	const many = 8
	for i := 1; i < len(turn); i++ {
		if !within(turn[i].speed, turn[i-1].speed, mostSpeed) {
			return false
		}
	}
	return len(turn) >= many
}

// within tells that neither of two is more than a number of times the other.
func within(a, b, times float64) bool { return a < times*b && b < times*a }

// usualLevel is the relative height of a tooth in the turns before.
func (g *gatherer) usualLevel(slot int) float64 {
	if g.gains[slot].n == 0 {
		return 1
	}
	return g.gains[slot].mean
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
		if !g.turn[j].marred {
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
	for i := range turn {
		slowest = min(slowest, turn[i].speed-gain*(turn[i].at-middle))
	}
	return max(0, (mean-slowest)/mean)
}

// turnSum is one revolution of the wheel.
type turnSum struct {
	start      float64
	speed      float64 // of the wheel over the whole turn, in turns per sample
	rpm        float64 // of the engine, the same
	course     course
	peakAt     float64 // samples from the turn's middle to its peaks, mean over the teeth
	toothRPM   float64 // of the engine on its course, mean over the teeth that make the mean peak
	gradual    bool    // its teeth show how it went
	teeth      int
	peakV      float64 // mean over the teeth
	peakRPM    float64 // of the engine at their peaks, mean
	toothSpeed float64 // mean over all teeth, in turns per sample
	toothFlux  float64 // mean of their pulses
	ripple     float64
	clipped    int
	relative   []float64 // peak of each tooth over the mean
	level      []float64 // the same, with the speed at the tooth taken out
	pace       []float64 // that speed over the mean
	seenPace   []float64 // that speed over the one that the course has there; none of the first in a row
	variance   float64   // of a tooth's level about its mean
	flux       []float64 // of each tooth's whole pulse over the mean: a spark hardly changes it
	half       int       // which turn of the engine's cycle it is, of the crank's two
	odd        float64   // lowest relative height of a tooth that was low this once, not by a spark; 0 none
	humpV      float64   // NaN without a gap
	noise      *noise.ByMethod
	lobes      *lobes.Sum      // nil where they were not matched
	extents    []spikes.Extent // by the place in the turn
}

// priorLevels are those of the turn before, or of the same turn of the engine's cycle
// before: where the speed ripples the other turn may have other compressions, which
// the speeds that few teeth show do not account for.
func (g *gatherer) priorLevels(t *turnSum) []float64 {
	if t.ripple > calmRipple || g.onCam {
		return g.prior[t.half]
	}
	return g.prior[1-t.half]
}

// taken is how much of a tooth's pulse something took away this once, or put on it: what
// the wheel does to the flux comes back, what a spark does is lost for good, of the half of
// a pulse that it lies on. All of it where it surely struck beside the tooth.
func (g *gatherer) taken(j int, pulse float64) float64 {
	t := &g.turn[j]
	if t.struck || g.turn[(j+1)%len(g.turn)].struck {
		return 1
	}
	return 2 * math.Abs(t.step/pulse-g.steps[j].mean)
}

// spread compares the levels with those of a turn before.
func (t *turnSum) spread(prior []float64, gains []slotGain, teeth []toothAt, taken func(j int) float64) {
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
	for j, level := range t.level {
		missing, sd := gains[j].mean-level, math.Sqrt(t.variance+teeth[j].doubt)
		if gains[j].n >= 5 && missing > max(6*sd, 0.15) && 1-t.flux[j] > missing/2 && taken(j) < missing/2 {
			t.odd = lesser(t.odd, max(t.relative[j], 1e-6))
		}
	}
}

func (t *turnSum) revolution() Revolution {
	lowest := math.Inf(1)
	for _, r := range t.relative {
		lowest = min(lowest, r*t.peakV)
	}
	r := Revolution{StartS: t.start, RPM: t.rpm, PeakV: captures.Finite(t.peakV), WeakestV: captures.Finite(lowest), Ripple: t.ripple}
	if h, ok := t.noise.Level(t.noise.IsUnsteady()); ok {
		r.NoiseRMSV, r.NoiseV = captures.Some(h.SigmaV), captures.Some(h.LargestV)
	}
	return r
}

// learnShape takes the wave between two teeth, by the octave of their distance.
func (g *gatherer) learnShape(from, to float64) {
	octave := bits.Len64(uint64(to - from))
	g.shapes[min(octave, len(g.shapes)-1)].add(g.w, from, to)
}
