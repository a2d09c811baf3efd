package teeth

import (
	"cmp"
	"errors"
	"fmt"

	"armcurve/captures"
	"armcurve/captures/teeth/polarity"
	"armcurve/captures/teeth/pulses"
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
	KeepTrack       bool // to play the capture again
	// Watch sees the wave and its teeth in the order of time; may be nil.
	Watch Watcher
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
	Normal   = polarity.Normal
	Reversed = polarity.Reversed
	Unknown  = polarity.Unknown
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
	Track          *Track
	Findings       []captures.Finding

	firstTeeth []float64   // positions of the first pulses; see CamWheel
	turns      []crankTurn // the first whole turns
}

// ErrNoWave is in the error of a channel that holds nothing to be measured, and
// ErrFewSamples in that of one with less than anything can be seen in.
var (
	ErrNoWave     = errors.New("want a wave")
	ErrFewSamples = errors.New("want a recording of many")
)

// Measure reads a wave to its end. An error is one of the source, ErrNoWave or
// ErrFewSamples.
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
	case w.samples < fewestSought && w.top != w.bottom:
		return fmt.Errorf("found %d samples; %w", w.samples, ErrFewSamples)
	case w.top < w.bottom:
		return fmt.Errorf("found no number in %d samples; %w", r.w.samples, ErrNoWave)
	case w.top == w.bottom && !r.options.NoiseOnly:
		return fmt.Errorf("found %.4g V in each of %d samples; %w", r.sign*w.top, r.w.samples, ErrNoWave)
	}
	return nil
}

// halved tells that the wave stands still in one of a mark's half-waves, as
// where it was lost for a while and comes again amid a tooth.
func (r *run) halved(m pulses.Mark) bool {
	const least, still, narrowest = 0.1, 0.3, 3
	if r.numberer.Pattern == nil || m.Width < narrowest {
		return false
	}
	amplitude, w := m.Flux/(1.4*m.Width), r.w
	return w.mean(m.At-m.Width, m.At)-m.RestV < least*amplitude && w.span(m.At-m.Width, m.At-m.Width/4) < still*amplitude ||
		m.RestV-w.mean(m.At, m.At+m.Width) < least*amplitude && w.span(m.At+m.Width/4, m.At+m.Width) < still*amplitude
}

// measurement sums up a capture.
func (r *run) measurement() Measurement {
	m := &r.m
	m.Info, m.Samples, m.Sensor, m.Stated = r.info, r.w.samples, r.options.Sensor, r.options.Wheel
	m.Channel = r.info.Channels[r.options.Channel]
	m.Unseen, m.turns = r.numberer.Unseen, r.gatherer.turns
	for _, mark := range r.marks {
		m.firstTeeth = append(m.firstTeeth, mark.at)
	}
	if r.options.NoiseOnly {
		r.standstill()
		r.cellFindings()
		return *m
	}
	m.Signal, m.SignalWhy = r.signal()
	m.Polarity, m.PolarityWhy = Unknown, "no reluctor signal was recognised"
	if m.Signal == Reluctor {
		m.Polarity, m.PolarityWhy = polarity.Judge(longestRun(r.swings[0].marks), longestRun(r.swings[1].marks), cmp.Or(r.numberer.Pattern, r.numberer.Order))
	}
	r.nameWheel()
	usable := m.Signal == Reluctor && m.Polarity != Reversed && m.Wheel.Known()
	if usable {
		m.Readings = r.gatherer.readings(r.options.Sensor)
		r.levelLists()
		disturbed := r.gatherer.disturbed()
		for j, g := range r.gatherer.gains {
			if disturbed[j] {
				g.mean = 1
			}
			m.Weak = append(m.Weak, g.mean)
		}
		m.Ripple = r.gatherer.lowestRipple(1.5 * r.options.CrankingRPM)
		m.Readings = append(r.stoodBefore(), m.Readings...)
	} else {
		m.RevolutionList, m.Revolutions = nil, 0
	}
	if m.Signal == Unknown || m.Polarity == Reversed {
		m.ToothList, m.Teeth, m.Unseen = nil, 0, 0
	}
	r.causeFindings()
	if usable {
		r.qualityFindings()
		r.toothFindings()
	}
	r.cellFindings()
	return *m
}
