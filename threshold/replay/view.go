package replay

// Viewer follows what the input of the first table makes of a wave, in the
// order of time.
type Viewer interface {
	// Wave gives the next samples as the comparator saw them: volts from rest,
	// behind the filter. The slice is only lent.
	Wave(first int64, v []float64)
	// Judged gives the next tooth, once the wave up to beyond the tooth after
	// it was given.
	Judged(*Judgement)
}

// Judgement is what became of a tooth and of all that is nearer to it than to
// its neighbours. Positions are in samples, volts from rest; slices are only
// lent.
type Judgement struct {
	At         float64 // of the fall
	Number     int     // 0 where the wheel is not known
	RPM        float64
	Seen       bool
	Judged     bool    // false before the input could know its speed
	HeightV    float64 // of the tooth
	OtherV     float64 // of the highest that is no tooth, 0 for none
	ThresholdV float64 // that was in force at the tooth; +Inf for none
	Counted    bool
	Events     []Instant
	Examples   []Example
}

// Example is a fault that is kept as one.
type Example struct {
	Number int     // from 1, as in Cause.Example
	At     float64 // position
	Event
}

// Instant is an event with what armed it.
type Instant struct {
	ArmedAt, At float64 // positions
	HeightV     float64
	ThresholdV  float64 // that armed it
	AfterV      float64 // in force behind it; +Inf for none
	False       bool
}

// mostExamples is how many faults are kept as examples, whatever their number.
const mostExamples = 96

// examples are the first faults of each look, at each speed and at each tooth:
// among them is one of every cause that is not a very rare one.
type examples struct {
	list  []example
	looks map[look]bool
	lead  fault     // that the latest follows from
	fresh []Example // those of the tooth being judged
}

type example struct{ fault, lead fault }

// look is how a fault looks.
type look struct {
	flags flags
	band  int // of speed, -1 for any
	tooth int // -1 for any
}

func (e *examples) add(f *fault, told Event) {
	if !f.follows() {
		e.lead = *f
	}
	if len(e.list) == mostExamples {
		return
	}
	isNew := false
	for _, l := range []look{{f.flags, bandOf(float64(f.rpm)), -1}, {f.flags, -1, int(f.tooth)}} {
		if !e.looks[l] {
			isNew = true
			e.looks[l] = true
		}
	}
	if isNew {
		e.list = append(e.list, example{*f, e.lead})
		e.fresh = append(e.fresh, Example{len(e.list), f.at, told})
	}
}

// view tells the viewer of a tooth.
func (r *Replay) view(n *input, t *passed, judged []Instant, counted, isJudged bool) {
	thresholdV, _ := n.thresholdAt(t.at)
	for i := range judged {
		if counted && !judged[i].False {
			thresholdV = judged[i].ThresholdV
		}
	}
	r.o.View.Judged(&Judgement{
		At: t.at, Number: t.number, RPM: t.rpm, Seen: t.seen, Judged: isJudged, HeightV: t.height, OtherV: t.other,
		ThresholdV: thresholdV, Counted: counted, Events: judged, Examples: r.examples.fresh,
	})
	r.examples.fresh = r.examples.fresh[:0]
}

// instant is an event for the viewer.
func (r *Replay) instant(e *event, isFalse bool) Instant {
	return Instant{
		ArmedAt: r.rise(e.arch, e.thresholdV), At: e.at, HeightV: e.height,
		ThresholdV: e.thresholdV, AfterV: e.afterV, False: isFalse,
	}
}

// Place is where on the crank, and at what speed, a false event came.
type Place struct{ CrankDeg, RPM float64 }

// placesOf are those of the false events kept while the engine turned.
func (r *Replay) placesOf(list []fault) []Place {
	var out []Place
	for i := range list {
		f := &list[i]
		if !f.is(isFalse) || f.is(standing) {
			continue
		}
		if deg := r.crankDeg(int(f.tooth), f.part); deg.Known {
			out = append(out, Place{deg.Value, float64(f.rpm)})
		}
	}
	return out
}
