package replay

import (
	"math"
	"slices"
	"sort"

	"armcurve/captures"
)

// Kinds of causes. The names are stable: programs read them.
const (
	NotAReluctor        = "not-a-reluctor"
	ReversedPolarity    = "reversed-polarity"
	WheelDiffers        = "wheel-differs"
	NoThreshold         = "no-threshold"
	CoarseSampling      = "coarse-sampling"
	Dropout             = "dropout"
	Clipped             = "clipped"
	CrossTalk           = "cross-talk"
	StarterNoise        = "starter-noise"
	ShortTooth          = "short-tooth"
	RunOut              = "run-out"
	GapLobe             = "gap-lobe"
	GapHump             = "gap-hump"
	CrankingDip         = "cranking-dip"
	FixedFrequencyNoise = "fixed-frequency-noise"
	SpeedLockedNoise    = "speed-locked-noise"
	CrankLockedNoise    = "crank-locked-noise"
	AmplitudeBelow      = "amplitude-below-threshold"
	NoiseAbove          = "noise-above-threshold"
	Unexplained         = "unexplained"
)

// Cause is what made a part of the faults.
type Cause struct {
	Kind     string
	Share    float64 // of all faults: those that vanish without it
	Evidence string  // a sentence with its numbers, without the final stop
	Advice   string  // what to do, likewise
	Not      string  // what not to do, likewise; may be empty
	// Example is the number that a Viewer was given with one of its faults; 0
	// where none was kept.
	Example int
}

// Excluded is a cause that was examined and is none.
type Excluded struct {
	Kind     string
	Evidence string // with its number, without the final stop
}

// Concerns tells whether a cause of this kind could have made any of the faults
// counted.
func (e Excluded) Concerns(c Counts) bool {
	switch e.Kind {
	case NoThreshold, AmplitudeBelow, Clipped, ShortTooth, RunOut, GapLobe, CrankingDip:
		return c.Missed > 0
	case NoiseAbove, StarterNoise, GapHump, FixedFrequencyNoise, SpeedLockedNoise, CrankLockedNoise:
		return c.False > 0
	}
	return true
}

// Facts are what measuring the wave told of it as a whole.
type Facts struct {
	Signal, SignalWhy string // "reluctor", "square", "other" or "unknown"
	Reversed          bool
	PolarityWhy       string
	WheelDiffers      bool           // the wheel stated is not the one that turned
	Wheel             captures.Wheel // that turned, where known
	WheelStated       bool
	NoWheel           bool // the wheel cannot be told
	WheelWhy          string
	// Copied is why the wave is taken for another sensor's; "" where it is its own. If the
	// wheel is known, its teeth were found all the same.
	Copied string
	// Other has the positions of the teeth of another sensor recorded beside
	// this one, OtherName its name, OtherWave what was kept of its wave; Teeth the
	// positions of this sensor's own.
	Other, Teeth []float64
	OtherName    string
	OtherWave    *Strips
}

const (
	leastShare  = 0.2 // of the faults, for a cause
	leastFaults = 3   // for a cause that numbers tell
)

// cause is one that is looked for.
type cause struct {
	kind  string
	study func(*inquiry) opinion
}

// opinion is what a study came to.
type opinion struct {
	// explains tells whether a fault vanishes without the cause; nil where
	// the wave has no trace of it.
	explains func(*fault) bool
	evidence func(hits) string // of the faults it explains
	excluded string            // what was found, where it is no cause
	advice   string
	not      string
	// evident tells that each fault shows the cause by itself in the wave: then one
	// is enough, if all show it.
	evident bool
}

var (
	// first are asked in this order, each for what is left: what they spoil
	// cannot be judged for anything else.
	first = []cause{{CoarseSampling, studyCoarse}, {Clipped, studyClipped}, {CrossTalk, studyCrossTalk}, {Dropout, studyDropout}}
	// specific are asked together; the one that explains most comes first.
	specific = []cause{
		{StarterNoise, studyStarter}, {ShortTooth, studyShortTooth}, {RunOut, studyRunOut}, {GapLobe, studyGapLobe},
		{GapHump, studyGapHump}, {CrankingDip, studyCrankingDip}, {FixedFrequencyNoise, studyFixedTone},
		{SpeedLockedNoise, studySpeedTone}, {CrankLockedNoise, studyCrankLocked},
	}
	// general take what is left.
	general = []cause{{AmplitudeBelow, studyAmplitude}, {NoiseAbove, studyNoise}}
)

// inquiry is the search for the causes of one input's faults.
type inquiry struct {
	*Replay
	facts  Facts
	faults []fault
	leader []*fault // the one that a fault follows from; itself for most
	strong []line   // tones
	// early are the first of the false events before the first speed, which are none of
	// the faults but may have led to them; unjudged is the number of all.
	early    []fault
	unjudged int64
	taken    []bool
	left     int

	shown    []bool // of the examples: it is one of a cause
	causes   []Cause
	excluded []Excluded
}

// inquire looks for the causes of faults, before which there were early false events that
// are held against no table.
func (r *Replay) inquire(list, early []fault, unjudged int64, facts Facts) *inquiry {
	q := &inquiry{
		Replay: r, facts: facts, faults: list, early: early, unjudged: unjudged, leader: leaders(list, early), taken: make([]bool, len(list)), left: len(list),
		shown: make([]bool, len(r.examples.list)),
	}
	q.strong = q.strongLines()
	if slices.ContainsFunc(list, func(f fault) bool { return f.hasNoThreshold() }) {
		q.settleOne(cause{NoThreshold, studyNoThreshold}) // of other tables there is nothing to tell
	}
	for _, c := range first {
		q.settleOne(c)
	}
	q.compete(specific)
	for _, c := range general {
		q.settleOne(c)
	}
	if share := float64(q.left) / float64(max(len(list), 1)); share > 0 && len(list) >= leastFaults {
		q.causes = append(q.causes, Cause{
			Kind: Unexplained, Share: share, Evidence: counted(q.left, "fault") + " that no cause explains",
			Example: q.exampleOf(func(*fault) bool { return true }),
		})
	}
	return q
}

// leaders tells for each fault which one it follows from: a threshold moved by
// a false event or a miss, or a tooth whose event went astray. What follows from none
// does so from the early events, by which the first speed was told. A miss between moves
// no threshold that stays as it was.
func leaders(list, early []fault) []*fault {
	out := make([]*fault, len(list))
	var moved *fault // the last that followed from a threshold moved
	var by *fault    // what that one follows from
	for i := range list {
		f := &list[i]
		switch {
		case !f.follows():
			out[i] = f
		case f.is(follows) && moved != nil && moved.thresholdV == f.thresholdV:
			out[i] = by
		case i > 0:
			out[i] = out[i-1]
		case len(early) > 0 && f.is(follows):
			out[i] = &early[len(early)-1]
		default:
			out[i] = f
		}
		if f.is(follows) {
			moved, by = f, out[i]
		}
	}
	return out
}

// hits are the faults that a cause explains.
type hits []*fault

func (q *inquiry) explained(o opinion) (list hits, at []int) {
	if o.explains == nil {
		return nil, nil
	}
	for i := range q.faults {
		if !q.taken[i] && o.explains(q.leader[i]) {
			list, at = append(list, &q.faults[i]), append(at, i)
		}
	}
	return list, at
}

func (q *inquiry) share(n int) float64 { return float64(n) / float64(len(q.faults)) }

func (q *inquiry) enough(n int) bool {
	return n > 0 && len(q.faults) >= leastFaults && q.share(n) >= leastShare
}

// shows tells that few as the faults are, all show what made them.
func (q *inquiry) shows(o opinion, n int) bool { return o.evident && n > 0 && n == len(q.faults) }

// settleOne takes a cause or excludes it.
func (q *inquiry) settleOne(c cause) {
	o := c.study(q)
	list, at := q.explained(o)
	if q.enough(len(list)) || q.shows(o, len(list)) {
		q.accept(c, o, list, at)
		return
	}
	q.exclude(c, o, len(list))
}

func (q *inquiry) accept(c cause, o opinion, list hits, at []int) {
	for _, i := range at {
		q.taken[i] = true
	}
	q.left -= len(at)
	q.causes = append(q.causes, Cause{
		Kind: c.kind, Share: q.share(len(list)), Evidence: o.evidence(list), Advice: o.advice, Not: o.not, Example: q.exampleOf(o.explains),
	})
	sort.SliceStable(q.causes, func(i, j int) bool { return q.causes[i].isAhead(&q.causes[j]) })
}

// isAhead tells that a cause is told before another: the one of the larger share,
// but what leaves the others doubtful first.
func (c *Cause) isAhead(other *Cause) bool {
	if doubtful := c.Kind == CoarseSampling; doubtful != (other.Kind == CoarseSampling) {
		return doubtful
	}
	return c.Share > other.Share
}

// exampleOf is the first example that a cause explains, and that none before it
// did, by its number; 0 for none.
func (q *inquiry) exampleOf(explains func(*fault) bool) int {
	first := 0
	for i := range q.examples.list {
		if !q.shown[i] && explains(&q.examples.list[i].lead) {
			q.shown[i] = true
			if first == 0 {
				first = i + 1
			}
		}
	}
	return first
}

func (q *inquiry) exclude(c cause, o opinion, n int) {
	text := o.excluded
	if n > 0 {
		text += "; it explains " + counted(n, "fault") + " of " + plain(len(q.faults))
	}
	q.excluded = append(q.excluded, Excluded{c.kind, text})
}

// compete lets causes explain what is left, the one that explains most first.
func (q *inquiry) compete(list []cause) {
	opinions := make([]opinion, len(list))
	done := make([]bool, len(list))
	for i, c := range list {
		opinions[i] = c.study(q)
	}
	for {
		best, most := -1, 0
		for i := range list {
			if some, _ := q.explained(opinions[i]); !done[i] && len(some) > most {
				best, most = i, len(some)
			}
		}
		if best < 0 || !q.enough(most) {
			break
		}
		done[best] = true
		some, at := q.explained(opinions[best])
		q.accept(list[best], opinions[best], some, at)
	}
	for i, c := range list {
		if !done[i] {
			some, _ := q.explained(opinions[i])
			q.exclude(c, opinions[i], len(some))
		}
	}
}

// speeds are the lowest and the highest speed of some faults.
func (h hits) speeds() (lowest, highest float64) {
	lowest, highest = math.Inf(1), math.Inf(-1)
	for _, f := range h {
		lowest, highest = min(lowest, float64(f.rpm)), max(highest, float64(f.rpm))
	}
	return lowest, highest
}

// leading are the faults that follow from no other; all where none is.
func (h hits) leading() hits {
	var list hits
	for _, f := range h {
		if !f.follows() {
			list = append(list, f)
		}
	}
	if len(list) == 0 {
		return h
	}
	return list
}

// median is the middle one of a figure of the faults; 0 without any.
func (h hits) median(of func(*fault) float64) float64 {
	v := make([]float64, len(h))
	for i, f := range h {
		v[i] = of(f)
	}
	return middleOf(v)
}

// middleOf is the middle one of those values that are known; 0 without any.
func middleOf(v []float64) float64 {
	v = slices.DeleteFunc(v, func(x float64) bool { return x != x })
	if len(v) == 0 {
		return 0
	}
	slices.Sort(v)
	return v[len(v)/2]
}

func height(f *fault) float64      { return float64(f.heightV) }
func thresholdOf(f *fault) float64 { return float64(f.thresholdV) }

// part divides faults into those of a kind and the others.
func (h hits) part(is func(*fault) bool) (those, others hits) {
	for _, f := range h {
		if is(f) {
			those = append(those, f)
		} else {
			others = append(others, f)
		}
	}
	return those, others
}

// which are those of a kind among all faults.
func (q *inquiry) which(is func(*fault) bool) hits {
	var list hits
	for i := range q.faults {
		if is(&q.faults[i]) {
			list = append(list, &q.faults[i])
		}
	}
	return list
}
