package replay

import (
	"fmt"

	"armcurve/captures"
	"armcurve/threshold"
)

// Result is what an input with one of the tables made of a wave, and why.
type Result struct {
	Verdict threshold.Verdict
	Table   threshold.Table
	// Countable is false where reversed wires, another wheel, another kind of
	// sensor or a wave that is the other sensor's leave nothing to count: Causes
	// has the one reason, Counts and Bands are empty. So it is where the wheel
	// cannot be told, and with it no speed: Causes has noise, if that leaves no
	// threshold, or is empty; and where there is no tooth.
	Countable bool
	Counts
	// Unjudged is the number of false events at the beginning of a capture
	// that starts with the engine running, before the input knew its speed.
	// They are in Counts, but held against no table.
	Unjudged int64
	// FirstFaultRPM is the engine's speed, over a turn, about the first fault in
	// Counts, FirstJudgedRPM that about the first held against the table;
	// unknown where the wheel is.
	FirstFaultRPM, FirstJudgedRPM captures.Maybe

	Bands    []Band  // by rising speed
	Causes   []Cause // the largest share first
	Excluded []Excluded
	Findings []captures.Finding
	Events   []Event // if they were to be kept, in order of time
	// Places has where the false events came, one for each of PlacesEach; none
	// where the wheel is not known.
	Places     []Place
	PlacesEach int64
	// Shifts has, for an input that counts on the rise through its threshold,
	// how late that is against the rest level, by speed.
	Shifts []Shift
}

// Faults is what went wrong in all, once the input could know its speed.
func (r *Result) Faults() int64 { return r.Counts.Faults() - r.Unjudged }

// Shift is the mean lateness of counting on the level, asin(T/A) of a tooth's
// 360°, at some speeds.
type Shift struct{ FromRPM, ToRPM, CrankDeg float64 }

// Result concludes for one of the tables, after End.
func (r *Replay) Result(table int, facts Facts) (Result, error) {
	if table < 0 || table >= len(r.o.Tables) {
		return Result{}, fmt.Errorf("table %d: want one of %d", table+1, len(r.o.Tables))
	}
	out := Result{Table: r.o.Tables[table], Verdict: threshold.Fails}
	if c, is := exclusive(facts); is {
		out.Causes = []Cause{c}
		return out, nil
	}
	if c, is := r.noWheel(&facts); is {
		if c.Kind != "" {
			out.Causes = []Cause{c}
			return out, nil
		}
		out.Verdict = threshold.Unproven
		return out, nil
	}
	if len(r.inputs) == 0 || r.teeth == 0 {
		out.Verdict = threshold.Unproven
		return out, nil
	}
	out.Countable = true
	t := &r.inputs[table].result
	out.Counts, out.Unjudged, out.Events = t.Counts, t.unjudged, t.events
	r.takeWheel(facts.Wheel)
	for i := range out.Events {
		e := &out.Events[i]
		e.CrankDeg = r.crankDeg(e.Tooth, e.part)
	}
	out.Places, out.PlacesEach = r.placesOf(t.faults.list), max(t.faults.each, 1)
	out.Bands = bandsOf(&r.waves, &t.bands, r.o.Confidence)
	out.Shifts = r.shifts(t)
	r.rim = rimOf(r.slots.ratio, r.rimPlaces())
	q := r.inquire(t.faults.list, t.early, t.unjudged, facts)
	out.Causes, out.Excluded = q.causes, q.excluded
	out.Findings = q.reachFindings(&out)
	out.Verdict = r.verdict(&out)
	out.FirstJudgedRPM = t.first.speed(r)
	if out.FirstFaultRPM = out.FirstJudgedRPM; t.unknown.met {
		out.FirstFaultRPM = t.unknown.speed(r)
	}
	return out, nil
}

// takeWheel goes on with the wheel that turned, if it has as many teeth as the one
// stated: it knows where its gaps lie.
func (r *Replay) takeWheel(turned captures.Wheel) {
	if !r.wheel.Known() || turned.TeethPresent() == r.wheel.TeethPresent() {
		r.wheel = turned
	}
}

// rimPlaces are where the teeth are on the wheel, in turns.
func (r *Replay) rimPlaces() []float64 {
	places := make([]float64, len(r.slots.ratio))
	for k := range places {
		places[k] = r.placeOn(r.wheel, k+1)
	}
	return places
}

// noWheel tells that nothing can be counted because no wheel is known, and with it
// no speed and no threshold; and the cause, if there is one.
func (r *Replay) noWheel(f *Facts) (c Cause, is bool) {
	switch {
	case f.Wheel.Known() || r.teeth == 0:
		return c, false
	case !r.o.Wheel.Known():
		if r.blocks.areShut() {
			c = r.blocks.noWindow()
		}
		return c, f.NoWheel
	case !f.NoWheel || !r.isClean():
		return c, false
	case f.WheelStated && r.teeth >= 2*int64(r.past.turn):
		f.WheelDiffers = true
		c, _ = exclusive(*f)
	}
	return c, true
}

func (r *Replay) verdict(out *Result) threshold.Verdict {
	switch {
	case out.Faults() > 0:
		return threshold.Fails
	case out.Expected == 0 || out.Expected < int64(r.past.turn):
		return threshold.Unproven
	}
	return threshold.Clear
}

func (r *Replay) shifts(t *tally) []Shift {
	var out []Shift
	for i, m := range t.lagDeg {
		if v := m.value(); v.Known {
			out = append(out, Shift{r.waves[i].lowRPM, r.waves[i].highRPM, v.Value})
		}
	}
	return out
}

// Would tells what a table would have missed and falsely counted, looked up at
// the speed of each tooth: for a table that was not replayed; false where it has no
// threshold at a speed met. Heights are known to about 2 %.
func (r *Replay) Would(table threshold.Table) (missed, unwanted int64, ok bool) {
	return r.height.counts(table)
}
