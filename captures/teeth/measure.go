package teeth

import (
	"errors"
	"fmt"
	"io"
	"math"
	"slices"

	"armcurve/captures"
)

// Options say what is known of a capture and what is wanted of it.
type Options struct {
	Channel int            // index of the channel in the source's blocks
	Sensor  string         // captures.Crank or captures.Cam, for the readings
	OnCam   bool           // the wheel turns once in two turns of the engine
	Wheel   captures.Wheel // stated; may be unknown
	// Negative tells that the input arms on negative voltages and counts the
	// rise through zero.
	Negative    bool
	Confidence  float64 // of bounds, one-sided; 0: 0.95
	CrankingRPM float64 // up to 1.5 of it a turn is cranking; 0: 200
	NoiseOnly   bool    // everything in the capture is noise, the engine stopped

	KeepTeeth       bool
	KeepRevolutions bool
	// Watch sees the wave and its teeth in the order of time; may be nil.
	Watch Watcher
}

// Watcher follows a wave while it is measured, on a goroutine of its own that
// ends before Measure does.
type Watcher interface {
	// Wave gives the next samples, volts with the arming side positive, the
	// first being at position first; the slice is only lent.
	Wave(first int64, v []float64)
	// Tooth gives the next tooth, once the wave up to beyond it was given.
	Tooth(Passage)
}

// Passage is a tooth as it passed.
type Passage struct {
	captures.Tooth
	Seen  bool    // false: the wheel has a tooth here and the wave shows none
	At    float64 // position of the fall, in samples from the first
	RestV float64 // rest level at the tooth
}

// Revolution is one turn of the wheel.
type Revolution struct {
	StartS    float64 // the file's own time of its first tooth
	RPM       float64
	PeakV     captures.Maybe // mean, without the first tooth after each gap
	WeakestV  captures.Maybe // lowest single tooth
	NoiseV    captures.Maybe // largest
	NoiseRMSV captures.Maybe
	Ripple    float64
}

// Kinds of signal and polarity.
const (
	Reluctor = "reluctor"
	Square   = "square"
	Other    = "other"
	Normal   = "normal"
	Reversed = "reversed"
	Unknown  = "unknown"
)

// Measurement is what a capture showed.
type Measurement struct {
	Info     captures.WaveInfo
	Channel  captures.Channel
	Sensor   string
	Samples  int64
	Signal   string // Reluctor, Square, Other or Unknown
	Polarity string // Normal, Reversed or Unknown
	// SignalWhy and PolarityWhy hold the evidence, or why it cannot be told.
	SignalWhy, PolarityWhy string

	Wheel    captures.Wheel // found; not known where the wave does not tell
	WheelWhy string         // the evidence, or why it cannot be told
	Stated   captures.Wheel

	Teeth       int64 // seen
	Unseen      int64 // the wheel has them, the wave does not
	Revolutions int   // whole ones
	// Weak has the relative height of each tooth, in order from 1; 1 is the
	// mean. Nil where the wheel is not known.
	Weak   []float64
	Ripple captures.Maybe // mean over the turns while cranking, or at the lowest speed met

	Readings       []captures.Reading
	ToothList      []captures.Tooth
	RevolutionList []Revolution
	Findings       []captures.Finding

	firstTeeth []float64   // positions of the first pulses; see CamWheel
	turns      []crankTurn // the first whole turns
}

// ErrNoWave is in the error of a channel that holds nothing to be measured.
var ErrNoWave = errors.New("want a wave")

// Measure reads a wave to its end. An error is one of the source, or ErrNoWave.
func Measure(source captures.Source, options Options) (Measurement, error) {
	info := source.Info()
	if options.Channel < 0 || options.Channel >= len(info.Channels) {
		return Measurement{}, fmt.Errorf("%s: channel %d: want one of %d", info.File, options.Channel+1, len(info.Channels))
	}
	if options.Confidence == 0 {
		options.Confidence = 0.95
	}
	if options.CrankingRPM == 0 {
		options.CrankingRPM = 200
	}
	if options.Sensor == "" {
		options.Sensor = captures.Crank
	}
	r := newRun(info, options)
	if err := r.readAll(source); err != nil {
		return Measurement{}, err
	}
	if err := r.isWave(); err != nil {
		return Measurement{}, fmt.Errorf("%s: channel %q: %w", info.File, info.Channels[options.Channel].Name, err)
	}
	return r.measurement(), nil
}

// isWave is the error of samples that show nothing; noise may lie below the
// instrument's step.
func (r *run) isWave() error {
	switch w := r.w; {
	case r.w.samples < 2:
		return fmt.Errorf("found %d samples; %w", r.w.samples, ErrNoWave)
	case w.top < w.bottom:
		return fmt.Errorf("found no number in %d samples; %w", r.w.samples, ErrNoWave)
	case w.top == w.bottom && !r.options.NoiseOnly:
		return fmt.Errorf("found %.4g V in each of %d samples; %w", r.sign*w.top, r.w.samples, ErrNoWave)
	}
	return nil
}

// run is one capture under way.
type run struct {
	options Options
	info    captures.WaveInfo
	sign    float64

	w        *window
	forward  finder
	swings   [2]swings // falls and rises, as long as polarity is open
	surveyor surveyor
	numberer numberer
	relay    relay
	gatherer gatherer
	seeking  bool    // no wave is being followed
	seekSize int     // samples to seek it in
	seekFrom int64   // position from which
	lastAt   float64 // position of the last mark
	backAt   float64 // position of the last pulse that another wave was sought for
	towering int     // pulses in a row that tower above what the wave was taken for
	noise    residue
	still    []float64 // the first samples where all is noise
	stood    float64   // samples before the first tooth
	restV    float64
	marks    []mark // the first ones, for polarity
	m        Measurement
	ended    bool
}

const (
	seekFirst = 1 << 14
	seekMost  = 1 << 19
	keepMost  = 1 << 16 // samples kept while the wheel is not known
	keepMarks = 2000    // for polarity

	crawlShare = 0.5 // of cranking speed, up to which an engine begins to turn or comes to rest

	waitWidths = 30 // before the first pulse, from which a wave is followed: weak ones may come before
)

func newRun(info captures.WaveInfo, options Options) *run {
	r := &run{options: options, info: info, sign: 1, w: newWindow(), seeking: true, seekSize: seekFirst}
	if options.Negative {
		r.sign = -1
	}
	r.forward.sign, r.forward.share = 1, toothShare
	for i, sign := range []float64{1, -1} {
		r.swings[i].finder = finder{sign: sign, share: swingShare}
	}
	r.numberer = numberer{stated: options.Wheel, onCam: options.OnCam, stepS: info.StepS, out: r.relay.add, found: r.relay.follow}
	turnRPM := 60 / info.StepS
	if options.OnCam {
		turnRPM *= 2
	}
	r.numberer.crawl = crawlShare * options.CrankingRPM / turnRPM
	r.gatherer = gatherer{w: r.w, info: info, turnRPM: turnRPM, watcher: options.Watch}
	r.gatherer.begin()
	r.gatherer.count = &r.m
	r.relay = newRelay(r.w, r.gatherer.needs())
	if options.KeepTeeth {
		r.gatherer.keep = func(t captures.Tooth) { r.m.ToothList = append(r.m.ToothList, t) }
	}
	if options.KeepRevolutions {
		r.gatherer.revs = func(v Revolution) { r.m.RevolutionList = append(r.m.RevolutionList, v) }
	}
	return r
}

// readAll takes the source on a goroutine of its own, and gathers on another, so
// that reading a file and understanding it go side by side.
func (r *run) readAll(source captures.Source) error {
	go r.gatherer.work(&r.relay)
	defer r.relay.end()
	type filled struct {
		block *captures.Block
		err   error
	}
	full, empty := make(chan filled, 2), make(chan *captures.Block, 3)
	for range cap(empty) {
		empty <- new(captures.Block)
	}
	go func() {
		defer close(full)
		for block := range empty {
			err := source.Next(block)
			full <- filled{block, err}
			if err != nil {
				return
			}
		}
	}()
	for f := range full {
		if f.err == io.EOF {
			break
		}
		if f.err != nil {
			return f.err
		}
		r.add(f.block.V[r.options.Channel])
		empty <- f.block
	}
	r.finish()
	return nil
}

// pieceLen is what is taken at once, whatever the source's blocks: the same wave
// gives the same results in every shape of file.
const pieceLen = 1 << 13

func (r *run) add(v []float64) {
	for len(v) > 0 {
		room := pieceLen - int(r.w.samples%pieceLen)
		some := v[:min(len(v), room)]
		v = v[len(some):]
		r.w.add(some, r.sign)
		if len(some) == room {
			r.takePiece()
		}
	}
}

func (r *run) takePiece() {
	if r.options.NoiseOnly {
		r.onlyNoise()
	} else {
		r.advance()
	}
}

// onlyNoise takes the window as noise about its slowly followed mean.
func (r *run) onlyNoise() {
	r.still = r.takeNoise(r.w.v, r.still)
	r.w.first += int64(len(r.w.v))
	r.w.v = r.w.v[:0]
}

// takeNoise adds samples to the noise with the engine stopped, and to the first
// ones of it, which it changes.
func (r *run) takeNoise(v, still []float64) []float64 {
	sum := 0.0
	for _, x := range v {
		sum += x
	}
	mean := sum / float64(len(v))
	if r.noise.n == 0 {
		r.restV = mean
	}
	r.restV += 0.1 * (mean - r.restV)
	for i := range v {
		v[i] -= r.restV
	}
	r.noise.add(v)
	return append(still, v[:min(len(v), tonesFrom-len(still))]...)
}

// Before the first tooth.
const (
	leastStillS = 0.1 // of noise that tells how the engine stood
	stillShare  = 0.7 // of the time up to it, the rest being the engine's first moving
)

// standsBefore takes what comes before the first tooth as noise.
func (r *run) standsBefore(m mark) {
	from := max(r.w.first, 0)
	r.stood = m.at - float64(from)
	n := int(stillShare * (r.stood - 4*m.width))
	if float64(n)*r.info.StepS < leastStillS {
		return
	}
	start := int(from - r.w.first)
	for piece := range slices.Chunk(slices.Clone(r.w.v[start:start+n]), pieceLen) {
		r.still = r.takeNoise(piece, r.still)
	}
}

// advance goes as far as the samples allow.
func (r *run) advance() {
	for {
		if r.seeking && !r.seek() {
			break
		}
		before := r.forward
		p, ok := r.forward.find(r.w)
		if ok {
			p = r.forward.sooner(&before, r.w, p)
			r.take(p)
			continue
		}
		if !r.forward.lost() {
			break
		}
		r.seekAgain(int64(r.forward.last) + max(1, int64(r.forward.width)))
	}
	r.followSwings()
	r.relay.hand()
	r.forget()
}

// seekAgain looks for a wave from a position on.
func (r *run) seekAgain(from int64) {
	r.seeking, r.seekSize, r.seekFrom, r.towering = true, seekFirst, from, 0
}

// goBack looks for a wave from some samples before a pulse on, which shows that
// another wave was followed; false where a pulse from there on has shown it
// before, lest it be shown for ever.
func (r *run) goBack(at, samples float64) bool {
	if at <= r.backAt+samples {
		return false
	}
	r.backAt = at
	r.seekAgain(max(r.w.first, int64(at-samples)))
	return true
}

// isOften tells whether it is time to look again whether what is followed is the
// wave: at each of the first pulses, and now and then.
func (r *run) isOften() bool { return r.forward.found < 2*settledIn || r.forward.found%16 == 0 }

// towers tells that both half-waves of several pulses in a row go beyond what
// samples are limited to: noise was taken for the wave, and here is the wave.
func (r *run) towers(m mark) bool {
	const enough = 3
	r.towering++
	for _, x := range []float64{m.at - m.width/2, m.at + m.width/2} {
		if i := int(x) - int(r.w.first); i < 0 || i >= len(r.w.v) || math.Abs(r.w.v[i]-r.w.rest) <= r.w.limit {
			r.towering = 0
		}
	}
	return r.towering >= enough
}

// seek looks for a wave of any scale; false where more samples are needed.
func (r *run) seek() bool {
	w := r.w
	for {
		from := int(r.seekFrom - w.first)
		from = max(from, 0)
		have := len(w.v) - from
		if have < r.seekSize && !r.ended || have < 32 {
			return false
		}
		r.relay.settle() // sums are written anew
		w.resum(from)
		s, ok := w.findScale(from)
		if ok && s.flux > 0 {
			// Not at once, where the first pulse is far.
			r.found(s, from+max(0, s.first-int(waitWidths*s.width)))
			return true
		}
		switch {
		case r.ended:
			return false
		case r.seekSize < seekMost:
			r.seekSize *= 4
		default:
			r.seekFrom = w.first + int64(from+r.seekSize/2)
		}
	}
}

// found begins to follow a wave.
func (r *run) found(s scale, from int) {
	w := r.w
	r.seeking = false
	level := s.restV
	if w.isCut(from) {
		level = w.rest // a median does not mind
	}
	w.rest, w.limit = level, 2.5*s.flux/(1.4*s.width)
	w.sum = w.sum[:from+1]
	at := w.first + int64(from)
	if at == 0 {
		w.padFront(int(2*s.width)+2, level)
		at = w.first
	}
	r.surveyor.begin(level, float64(at))
	r.forward.begin(s, at)
	for i := range r.swings {
		r.swings[i].begin(s, at)
	}
}

// isCut tells that many samples from an index on stand at the highest or the
// lowest value.
func (w *window) isCut(from int) bool {
	const many = 0.02
	n := 0
	for _, x := range w.v[from:] {
		if x == w.top || x == w.bottom {
			n++
		}
	}
	return float64(n) > many*float64(len(w.v)-from)
}

// take measures a pulse and passes it on, unless the wave begins or ends within
// it.
func (r *run) take(p pulse) {
	r.surveyor.turn, r.surveyor.uneven = r.numberer.turn(), r.numberer.uneven()
	m := r.surveyor.measure(r.w, p)
	if r.numberer.pattern == nil || r.numberer.collecting {
		m.troughV = r.w.extreme(m.at, m.width, -1)
	}
	if !r.whole(m) {
		if m.at < m.width {
			// Nothing is to be learnt of what the wave begins amid.
			r.surveyor = surveyor{}
			r.surveyor.begin(m.restV, m.at)
		}
		return
	}
	if r.halved(m) || m.at <= r.lastAt+0.2*m.width && r.lastAt > 0 {
		return
	}
	if r.isOften() && r.w.outruns(p) && r.goBack(p.at, 2*p.width) {
		return
	}
	if r.towers(m) && r.goBack(m.at, 10*m.width) { // the first of them may have passed unseen
		return
	}
	if r.lastAt == 0 {
		r.standsBefore(m)
	}
	r.lastAt = m.at
	if len(r.marks) < keepMarks {
		r.marks = append(r.marks, m)
	}
	r.numberer.add(m)
}

// whole tells that both of a mark's half-waves are in the wave, at least a part
// of each.
func (r *run) whole(m mark) bool {
	least := 0.1 * m.flux / (1.4 * m.width)
	if m.at < m.width {
		return m.at >= 0.55*m.width && r.w.mean(-0.5, m.at)-m.restV > least
	}
	if end := float64(r.w.samples) - 0.5; r.ended && m.at > end-m.width {
		return m.at < end-0.5 && m.restV-r.w.mean(m.at, end) > least
	}
	return true
}

// halved tells that the wave stands still in one of a mark's half-waves, as
// where it was lost for a while and comes again amid a tooth.
func (r *run) halved(m mark) bool {
	const least, still, narrowest = 0.1, 0.3, 3
	if r.numberer.pattern == nil || m.width < narrowest {
		return false
	}
	amplitude, w := m.flux/(1.4*m.width), r.w
	return w.mean(m.at-m.width, m.at)-m.restV < least*amplitude && w.span(m.at-m.width, m.at-m.width/4) < still*amplitude ||
		m.restV-w.mean(m.at, m.at+m.width) < least*amplitude && w.span(m.at+m.width/4, m.at+m.width) < still*amplitude
}

// forget drops what no one will look at again.
func (r *run) forget() {
	need := r.w.end()
	if r.seeking {
		need = min(need, r.seekFrom)
	} else {
		need = min(need, r.forward.next-int64(6*r.forward.width)-8)
		for i := range r.swings {
			need = min(need, r.swings[i].needs())
		}
	}
	need = min(need, r.relay.needs)
	if len(r.numberer.pending) > 0 {
		need = min(need, int64(r.numberer.pending[0].at)-16)
	}
	most := int64(keepMost)
	if r.options.Watch != nil {
		most *= 64
	}
	if n := r.w.surplus(max(need, r.w.end()-most)); n > 0 {
		if len(r.w.v) > usualLen {
			r.relay.settle() // much is not kept twice
		}
		r.w.drop(n)
	}
}

// finish works up what is left at the end.
func (r *run) finish() {
	if r.w.samples%pieceLen > 0 {
		r.takePiece()
	}
	r.ended = true
	if r.options.NoiseOnly {
		return
	}
	if r.seeking {
		r.seek()
	}
	if !r.seeking {
		pad := make([]float64, int(10*r.forward.width)+64)
		for i := range pad {
			pad[i] = r.w.rest
		}
		r.w.v = append(r.w.v, pad...)
		for !r.seeking {
			p, ok := r.forward.find(r.w)
			if !ok {
				break
			}
			if p.at < float64(r.w.samples) {
				r.take(p)
			}
		}
		r.followSwings()
	}
	r.numberer.end()
}

// resum starts the running sums anew from an index, limited by how the samples
// from there to the end are spread.
func (w *window) resum(from int) {
	some := make([]float64, 0, 4096)
	step := max(1, (len(w.v)-from)/4000)
	for i := from; i < len(w.v); i += step {
		some = append(some, w.v[i])
	}
	slices.Sort(some)
	w.rest, w.step = middleOf(some), leastGap(some)
	for i := range some {
		some[i] = math.Abs(some[i] - w.rest)
	}
	slices.Sort(some)
	// Pulses may be rare, and sparks several times as high.
	w.limit = max(3*some[len(some)*95/100], 0.4*some[len(some)-1])
	if w.limit == 0 {
		w.limit = max(some[len(some)-1], math.SmallestNonzeroFloat64)
	}
	if len(w.sum) == 1 {
		w.base = w.rest
	}
	w.sumTo(from)
	w.sum = w.sum[:from+1]
	w.sumTo(len(w.v))
}

// leastGap is the least distance of sorted values that are not the same, but for
// rounding; 0 where all are.
func leastGap(sorted []float64) float64 {
	const rounding = 1e-9
	n := len(sorted)
	if n == 0 {
		return 0
	}
	same, least := rounding*(sorted[n-1]-sorted[0]), 0.0
	for i := 1; i < n; i++ {
		if gap := sorted[i] - sorted[i-1]; gap > same {
			least = lesser(least, gap)
		}
	}
	return least
}

// padFront puts samples at rest before the first of the wave, so that a tooth
// at its very beginning can be seen.
func (w *window) padFront(n int, level float64) {
	w.v = slices.Insert(w.v, 0, slices.Repeat([]float64{level}, n)...)
	w.first -= int64(n)
	w.sum = w.sum[:1]
}
