package teeth

import (
	"io"
	"slices"

	"armcurve/captures"
	"armcurve/captures/teeth/noise"
	"armcurve/captures/teeth/numbering"
	"armcurve/captures/teeth/pulses"
	"armcurve/captures/teeth/wheels"
)

// run is one capture under way.
type run struct {
	options Options
	info    captures.WaveInfo
	sign    float64

	w        *window
	forward  finder
	swings   [2]swings // falls and rises, as long as polarity is open
	surveyor surveyor
	numberer numbering.Numberer
	pipeline pipeline
	gatherer gatherer
	twoLevel levels
	seeking  bool    // no wave is being followed
	seekSize int     // samples to seek it in
	seekFrom int64   // position from which
	known    scale   // of the wave that was last lost
	lastAt   float64 // position of the last mark
	lone     float64 // flux of the last mark, if it was the first after the wave was sought; 0 otherwise
	passedV  float64 // how far from rest the wave went at pulses passed over since
	backAt   float64 // position of the last pulse that another wave was sought for
	towering int     // pulses in a row that tower above what the wave was taken for
	noise    noise.Residuals
	still    []float64 // the first samples where all is noise
	stood    float64   // samples before the first tooth
	restV    float64
	marks    []compactMark // the first ones
	m        Measurement
	ended    bool
}

const (
	keepMost  = 1 << 16 // samples kept while the wheel is not known
	keepMarks = 2000    // for polarity

	crawlShare = 0.5 // of cranking speed, up to which an engine begins to turn or comes to rest
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
	r.numberer = numbering.Numberer{Recogniser: wheels.Recogniser{Stated: options.Wheel, OnCam: options.OnCam}, StepS: info.StepS, Out: r.pipeline.add, Found: r.follows}
	turnRPM := 60 / info.StepS
	if options.OnCam {
		turnRPM *= 2
	}
	r.numberer.Crawl = crawlShare * options.CrankingRPM / turnRPM
	r.gatherer = gatherer{w: new(window), info: info, turnRPM: turnRPM, onCam: options.OnCam, watcher: options.Watch}
	r.gatherer.begin()
	r.gatherer.count = &r.m
	r.pipeline = newPipeline(r.w, r.gatherer.needs())
	if options.KeepTeeth {
		r.gatherer.keep = func(t captures.Tooth) { r.m.ToothList = append(r.m.ToothList, t) }
	}
	if options.KeepTrack {
		r.m.Track = new(Track)
		r.gatherer.track = r.m.Track
	}
	if options.KeepRevolutions {
		r.gatherer.revs = func(v Revolution) { r.m.RevolutionList = append(r.m.RevolutionList, v) }
	}
	return r
}

// follows is told the wheel once it is known, before the first tooth is passed on.
func (r *run) follows(p *wheels.Pattern) {
	r.surveyor.settle(r.w, r.numberer.Pending, len(p.Parts))
	r.pipeline.follow(p)
}

// readAll takes the source's blocks, and gathers on a goroutine of its own.
func (r *run) readAll(source captures.Source) error {
	go r.gatherer.work(&r.pipeline)
	defer r.pipeline.end()
	err := eachBlock(source, func(b *captures.Block) { r.add(b.V[r.options.Channel]) })
	if err == nil {
		r.finish()
	}
	return err
}

// eachBlock takes a source's blocks, one after the other.
func eachBlock(source captures.Source, do func(*captures.Block)) error {
	block := new(captures.Block)
	for {
		switch err := source.Next(block); {
		case err == io.EOF:
			return nil
		case err != nil:
			return err
		}
		do(block)
	}
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
		r.twoLevel.take(r.w.newest())
		r.advance()
	}
}

// advance goes as far as the samples allow.
func (r *run) advance() {
	r.follow()
	r.followSwings()
	r.pipeline.hand()
	r.forget()
}

// follow goes from pulse to pulse, and seeks the wave where it is lost.
func (r *run) follow() {
	for !r.seeking || r.seek() {
		if r.ended {
			r.padEnd()
		}
		p, ok := r.forward.goOn(r.w)
		switch {
		case ok:
			r.take(p)
		case r.forward.lost():
			r.followSwings()
			r.seekOn(int64(r.forward.last) + max(1, int64(r.forward.width)))
		default:
			return
		}
	}
}

// padEnd puts samples at rest behind the last of the wave, as many as the filter
// wants to see a tooth at its very end.
func (r *run) padEnd() {
	w := r.w
	if lacking := w.samples + int64(10*r.forward.width) + 64 - w.end(); lacking > 0 {
		w.v = append(w.v, slices.Repeat([]float64{w.rest}, int(lacking))...)
	}
}

// take measures a pulse and passes it on, unless the wave begins or ends within
// it.
func (r *run) take(p pulse) {
	r.surveyor.turn, r.surveyor.uneven = r.numberer.Turn(), r.numberer.Uneven()
	limit, cut := r.w.limit, r.surveyor.cut
	m := r.surveyor.measure(r.w, p)
	if r.numberer.IsPlacing() {
		m.TroughV = r.w.extreme(m.At, m.Width, -1)
	}
	if !r.whole(m) {
		if m.At < m.Width {
			// Nothing is to be learnt of what the wave begins amid.
			r.surveyor, r.w.limit = surveyor{cut: cut}, limit
			r.surveyor.begin(m.RestV, m.At)
		}
		return
	}
	if r.halved(m) || m.At <= r.lastAt+0.2*m.Width && r.lastAt > 0 {
		r.passedV = max(r.passedV, m.FarV)
		return
	}
	m.FarV, m.AmidV, r.passedV = max(m.FarV, r.passedV), max(m.AmidV, r.passedV), 0
	if r.isOften() && r.w.outruns(p) && r.goBack(p.at, 2*p.width) {
		return
	}
	if r.towers(m) && r.goBack(m.At, 10*m.Width) { // the first of them may have passed unseen
		return
	}
	if r.lastAt == 0 {
		r.standsBefore(m)
	}
	if r.continues(m) {
		m.IsNew = false
		r.forward.waitFor(m.At - r.lastAt)
	}
	r.lastAt, r.lone = m.At, 0
	if m.IsNew {
		r.lone = m.Flux
	}
	if len(r.marks) < keepMarks {
		r.marks = append(r.marks, compact(&m))
	}
	r.numberer.Add(m)
}

// continues tells that a mark found anew is of the wave whose single mark came
// before: the teeth of a cam with one are so far apart that the wave seems lost
// after each, until the first interval is known. The flux tells, at any speed.
func (r *run) continues(m pulses.Mark) bool {
	const same = 1.25
	return m.IsNew && r.lone > 0 && within(m.Flux, r.lone, same)
}

// whole tells that both of a mark's half-waves are in the wave, at least a part
// of each.
func (r *run) whole(m pulses.Mark) bool {
	least := 0.1 * m.Flux / (1.4 * m.Width)
	if m.At < m.Width {
		return m.At >= 0.55*m.Width && r.w.mean(-0.5, m.At)-m.RestV > least
	}
	if end := float64(r.w.samples) - 0.5; r.ended && m.At > end-m.Width {
		return m.At < end-0.5 && m.RestV-r.w.mean(m.At, end) > least
	}
	return true
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
	need = min(need, r.pipeline.needs)
	if at, ok := r.numberer.WaitsFrom(); ok {
		need = min(need, int64(at)-16)
	}
	most := int64(keepMost)
	if r.numberer.Pattern != nil {
		most += mostKept // for turns to be compared
	}
	if r.options.Watch != nil {
		most *= 64
	}
	if r.seeking {
		most = max(most, int64(r.seekSize)) // a slow wave shows in no fewer
	}
	if n := r.w.surplus(max(need, r.w.end()-most)); n > 0 {
		if r.w.isLong {
			r.pipeline.settle()
		} else {
			r.pipeline.freeSpare()
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
	r.follow()
	r.followSwings()
	r.numberer.End(float64(r.w.samples))
}
