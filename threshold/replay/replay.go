package replay

import (
	"fmt"
	"math"
	"slices"

	"armcurve/captures"
)

// Replay plays a wave, while it passes, through an input with each of the
// tables. Wave and Tooth are to be called in the order of time, End once.
type Replay struct {
	o      Options
	info   captures.WaveInfo
	filter *lowPass
	past   past
	scan   scanner
	given  int64 // position up to which the scanner went

	inputs []*input
	arches []arch  // since the last tooth that was settled
	queue  []tooth // while the number of teeth in a turn is not known
	begun  bool

	before, last *passed // the tooth that was settled last, and the one to be settled next
	rest         restLevel
	steps        steps
	lastRestV    float64 // that the wave was scanned with
	vanishedAt   float64 // position of the last tooth that the wave lost
	presentV     float64 // height of the last tooth that the wave has whole
	firstRPM     float64 // speed at the first tooth that has one

	top        pooledTop
	waves      [speedBands]band
	height     heights
	slots      slots
	surges     surges
	blocks     blocks
	rim        *rim // of the slots, when all is over
	tones      tones
	teeth      int64
	crossings  []float64
	strips     *Strips // nil unless to be kept
	examples   examples
	wheel      captures.Wheel // that turned, as far as is known
	laidOut    captures.Wheel // the same as the first teeth showed it
	topV       float64        // highest arch of all, volts from rest
	recordedV  float64        // highest sample, where a filter stands before the input: likewise
	leastPitch float64        // samples
}

// tooth is one as it was found.
type tooth struct {
	captures.Tooth
	seen  bool
	at    float64
	restV float64
}

// New returns a replay of the wave that info tells of. An error is one of the
// options.
func New(info captures.WaveInfo, o Options) (*Replay, error) {
	if len(o.Tables) == 0 {
		return nil, fmt.Errorf("no table to replay: want at least one")
	}
	if !(info.StepS > 0) || math.IsInf(info.StepS, 0) {
		return nil, fmt.Errorf("%s: time between samples is %g s: want it above 0", info.File, info.StepS)
	}
	if o.Confidence == 0 {
		o.Confidence = 0.95
	}
	if o.CrankingRPM == 0 {
		o.CrankingRPM = 200
	}
	r := &Replay{o: o, info: info, waves: newBands(), leastPitch: math.Inf(1), wheel: o.Wheel, surges: surges{}}
	r.examples.looks = map[look]bool{}
	r.scan = scanner{halfV: o.HysteresisV / 2, clampV: o.ClampV.Or(math.Inf(1))}
	if o.FilterHz.Known {
		r.filter = newLowPass(o.FilterHz.Value, info.StepS)
	}
	if o.KeepWave {
		r.strips = new(Strips)
	}
	if o.Wheel.Known() {
		r.start(o.Wheel.TeethPresent(), o.Wheel)
	}
	return r, nil
}

// start sets the inputs up, once the number of teeth in a turn is known; 0 is
// for a wheel that cannot be told. The wheel is what an input knows of where they are.
func (r *Replay) start(teeth int, wheel captures.Wheel) {
	r.begun = true
	r.past.turn = teeth
	r.slots.begin(teeth)
	turnRPM := 60 / r.info.StepS * r.o.turnsPerWheel()
	for _, table := range r.o.Tables {
		r.inputs = append(r.inputs, newInput(table, newBelieved(r.o.SpeedFrom, wheel, teeth, turnRPM)))
	}
}

// Wave gives the next samples, in volts with the arming side positive, the
// first at position first.
func (r *Replay) Wave(first int64, v []float64) {
	p := &r.past
	if first != p.end() {
		r.interrupt(first)
	}
	n := len(p.v)
	p.v = append(p.v, v...)
	if r.filter != nil && len(v) > 0 {
		p.raw = append(p.raw, v...)
		r.recordedV = max(r.recordedV, slices.Max(v)-r.lastRestV)
		for i, x := range p.v[n:] {
			p.v[n+i] = r.filter.next(x)
		}
	}
	if r.strips != nil {
		r.strips.Wave(first, p.v[n:])
	}
}

// interrupt begins anew where samples are lacking.
func (r *Replay) interrupt(first int64) {
	if r.begun {
		r.begin()
	}
	p := &r.past
	p.v, p.raw, p.first, p.teeth = p.v[:0], p.raw[:0], first, p.teeth[:0]
	r.scan.interrupt()
	r.given = first
	if r.filter != nil {
		r.filter.begun = false
	}
}

// Tooth gives the next tooth, once the wave up to beyond it was given: the
// position of its fall through the rest level, and that level. seen is false
// for a tooth that the wheel has and the wave has not.
func (r *Replay) Tooth(t captures.Tooth, seen bool, at, restV float64) {
	x := tooth{t, seen, at, restV}
	if r.begun {
		r.await(x)
		return
	}
	r.queue = append(r.queue, x)
	if turn := wholeTurn(r.queue); turn > 0 || len(r.queue) >= queueMost {
		r.startQueue(turn)
	}
}

const queueMost = 1500

func (r *Replay) startQueue(turn int) {
	var seen captures.Wheel
	if turn > 0 && !r.o.OnCam {
		seen = layOut(r.queue[len(r.queue)-1-turn:])
	}
	r.start(turn, seen)
	for _, x := range r.queue {
		r.await(x)
	}
	r.queue = nil
}

// await goes on to a tooth once the rest level is known.
func (r *Replay) await(t tooth) {
	switch {
	case r.rest.known:
		r.rest.meet(t, r.past.turn)
		r.take(t)
	case r.rest.wait(t):
		r.begin()
	}
}

// begin goes on to the teeth that waited.
func (r *Replay) begin() {
	if r.rest.known {
		return
	}
	r.rest.settle(r.past.turn)
	r.steps = stepsAbout(r.rest.levelV, r.waited())
	if i := slices.IndexFunc(r.rest.waiting, func(t tooth) bool { return t.RPM > 0 }); i >= 0 {
		r.firstRPM = r.rest.waiting[i].RPM
	}
	r.laidOut = r.layOutFirst(r.rest.waiting)
	for _, t := range r.rest.waiting {
		r.take(t)
	}
	r.rest.waiting = nil
}

// waited is the wave up to the last of the teeth that waited.
func (r *Replay) waited() []float64 {
	waiting := r.rest.waiting
	if len(waiting) == 0 {
		return nil
	}
	end := int64(waiting[len(waiting)-1].at) + 1 - r.past.first
	return r.past.v[:min(max(end, 0), int64(len(r.past.v)))]
}

// wholeTurn is the number of teeth in a turn, when the latest of them completes
// one; else 0.
func wholeTurn(teeth []tooth) int {
	n := len(teeth) - 1
	if teeth[n].Number != 1 || n == 0 {
		return 0
	}
	turn := teeth[n-1].Number
	if turn > n || turn < 1 || teeth[n-turn].Number != 1 {
		return 0
	}
	return turn
}

// layOutFirst is the wheel as the first turn of some teeth shows it.
func (r *Replay) layOutFirst(teeth []tooth) captures.Wheel {
	if r.o.OnCam {
		return captures.Wheel{}
	}
	for n := range teeth {
		if turn := wholeTurn(teeth[:n+1]); turn > 0 && turn == r.past.turn {
			return layOut(teeth[n-turn : n+1])
		}
	}
	return captures.Wheel{}
}

// layOut is the wheel whose teeth passed in a turn, the first twice; unknown where they
// are not whole pitches apart.
func layOut(teeth []tooth) captures.Wheel {
	const within = 0.25 // pitches
	turned := make([]float64, len(teeth)-1)
	for i := range turned {
		turned[i] = (teeth[i+1].at - teeth[i].at) * (teeth[i].RPM + teeth[i+1].RPM)
	}
	sorted := slices.Sorted(slices.Values(turned))
	pitch := sorted[(len(sorted)-1)/2]
	var w captures.Wheel
	for _, x := range turned {
		pitches := math.Round(x / pitch)
		if !(pitches >= 1 && math.Abs(x/pitch-pitches) < within) {
			return captures.Wheel{}
		}
		w.Positions = append(w.Positions, w.Pitches)
		w.Pitches += int(pitches)
		if pitches > 1 {
			w.Missing = append(w.Missing, int(pitches)-1)
		}
	}
	return w
}

// take goes on to a tooth, over those that were lost before it.
func (r *Replay) take(t tooth) {
	if r.last != nil && !(t.at > r.last.at) {
		return
	}
	for _, x := range r.lost(t) {
		r.step(x)
	}
	r.step(t)
}

// step settles the tooth before the one that has come.
func (r *Replay) step(t tooth) {
	r.scanTo(int64(t.at)+1, r.steps.rest(r.rest.levelV))
	next := passed{at: t.at, number: t.Number, rpm: r.rpm(t.RPM), seen: t.seen, unplaced: !(t.RPM > 0)}
	r.past.teeth = append(r.past.teeth, next)
	if r.last != nil {
		length := next.at - r.last.at
		next.pitch = length
		r.last.pitch = min(r.last.pitch, length)
		if r.before == nil {
			r.last.pitch = length
		}
		if r.last.unplaced {
			r.last.rpm = r.pitchRPM(r.last)
		}
		r.settle(r.last, &next)
		r.before = r.last
	}
	r.last = &next
	r.past.trim(r.oldest())
}

// rpm is the speed at a tooth; the last known where it cannot be told, and at the very
// beginning the first.
func (r *Replay) rpm(rpm float64) float64 {
	if rpm-rpm != 0 || rpm < 0 {
		if r.last != nil {
			return r.last.rpm
		}
		return r.firstRPM
	}
	return rpm
}

// pitchRPM is the speed of a tooth that has no place on the wheel, by the shorter
// interval beside it, which is hardly ever a gap; where no wheel is stated,
// whatever was believed.
func (r *Replay) pitchRPM(t *passed) float64 {
	if r.o.Wheel.Pitches == 0 || !(t.pitch > 0) || math.IsInf(t.pitch, 1) {
		return t.rpm
	}
	return 60 / r.info.StepS * r.o.turnsPerWheel() / (t.pitch * float64(r.o.Wheel.Pitches))
}

// oldest is the first position that arches and teeth not yet settled need.
func (r *Replay) oldest() int64 {
	from := r.given
	if r.scan.up {
		from = r.scan.now.start
	}
	if len(r.arches) > 0 {
		from = min(from, r.arches[0].start)
	}
	return from - 2
}

// scanTo cuts the wave up to a position into arches and lets every input have
// them.
func (r *Replay) scanTo(end int64, restV float64) {
	p := &r.past
	from := max(r.given, p.first)
	end = min(end, p.end())
	if end <= from {
		return
	}
	r.scan.last += r.lastRestV - restV
	r.given, r.lastRestV = end, restV
	var rise func(arch, float64) float64
	if r.o.CountsOn == Level {
		rise = r.rise
	}
	v := p.v[from-p.first : end-p.first]
	for i := range v {
		v[i] -= restV
	}
	if r.o.View != nil {
		r.o.View.Wave(from, v)
	}
	r.scan.scan(from, v, func(a arch) {
		r.arches = append(r.arches, a)
		r.topV = max(r.topV, a.height)
		for _, n := range r.inputs {
			n.pass(a, rise)
		}
	})
}

// rise is where an arch first exceeds a level; its fall where that is no longer
// kept.
func (r *Replay) rise(a arch, level float64) float64 {
	p := &r.past
	for i := max(a.start-p.first, 0); i < int64(len(p.v)) && i <= a.peakAt-p.first; i++ {
		x := p.v[i]
		switch {
		case x <= level:
		case i == 0 || p.v[i-1] > level:
			return float64(p.first + i)
		default:
			return float64(p.first+i) - (x-level)/(x-p.v[i-1])
		}
	}
	return a.fall
}

// End settles what is left.
func (r *Replay) End() {
	if !r.begun {
		r.startQueue(0)
	}
	r.begin()
	if r.last == nil {
		return
	}
	r.scanTo(r.past.end(), r.lastRestV)
	if r.before == nil {
		r.last.pitch = math.Inf(1)
	}
	r.settle(r.last, nil)
	r.last = nil
}

// Crossings has the position of every tooth seen, if they were to be kept.
func (r *Replay) Crossings() []float64 { return r.crossings }

// Strips has what was kept of the wave, if it was to be.
func (r *Replay) Strips() *Strips { return r.strips }
