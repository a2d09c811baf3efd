package report

import (
	"fmt"
	"slices"
	"strconv"

	"armcurve/captures"
	"armcurve/captures/teeth"
	"armcurve/threshold"
	"armcurve/threshold/replay"
)

// InvestigatedCapture is what a table made of one sensor's wave, and why.
type InvestigatedCapture struct {
	Name         string
	Measurement  teeth.Measurement
	Result       replay.Result
	WithProposed *Would     // nil where no table can be proposed for the speeds met
	Recording    *Recording // for pictures, with Playback; nil for none
	Playback     *Playback
}

// Would is what another table would have done.
type Would struct{ Missed, False int64 }

// Investigated is the document of what captures showed when they were played.
func Investigated(list []InvestigatedCapture, c Context) Document {
	c.Findings = slices.DeleteFunc(slices.Clone(c.Findings), func(f captures.Finding) bool { return isCause(list, f.Kind) })
	d := c.document(verdicts(list, len(c.Missing) > 0))
	d.First = ""
	pictured := pictured(list)
	for k, i := range list {
		if !pictured[k] {
			i.Recording = nil
		}
		d.Sections = append(d.Sections, i.sections(len(list)+len(c.Missing) > 1)...)
		if d.First == "" && len(i.Result.Causes) > 0 {
			d.First = i.Result.Causes[0].Advice
		}
	}
	return d
}

// isCause tells that a finding is told already, as a cause of the faults of every
// capture: by what was played, which is fewer teeth than were measured.
func isCause(list []InvestigatedCapture, kind string) bool {
	return !slices.ContainsFunc(list, func(i InvestigatedCapture) bool {
		return !slices.ContainsFunc(i.Result.Causes, func(c replay.Cause) bool {
			return c.Kind == kind || c.Kind == replay.WheelDiffers && kind == "wheel-unknown"
		})
	})
}

// pictured tells which captures a page has pictures of, those with faults first.
func pictured(list []InvestigatedCapture) []bool {
	chosen, left := make([]bool, len(list)), mostPictured
	for _, faulty := range []bool{true, false} {
		for k, i := range list {
			if left > 0 && faulty == (i.Result.Verdict == threshold.Fails) {
				chosen[k] = true
				left--
			}
		}
	}
	return chosen
}

// sections are what is said of one capture, in the order of reading.
func (i InvestigatedCapture) sections(several bool) []Section {
	why := Section{Notes: i.why(), Findings: i.Result.Findings}
	then := Section{Notes: i.then()}
	if len(i.Result.Bands) > 0 {
		then.Tables = []Table{i.bySpeed()}
	}
	excluded := Section{Lists: i.ruledOut()}
	switch {
	case several && len(why.Notes) > 0:
		why.Title = i.title()
	case several:
		then.Title = i.title()
	}
	return []Section{why, then, {Charts: i.charts}, excluded}
}

func (i InvestigatedCapture) title() string { return i.Name + ", " + i.Measurement.Sensor }

// verdicts are a sentence for each capture, of several one for all that are as
// good as can be. A sensor is named where there is another without a result.
func verdicts(list []InvestigatedCapture, others bool) []string {
	if len(list) == 1 && others {
		return []string{"in " + list[0].title() + ": " + list[0].sentence()}
	}
	if len(list) == 1 {
		return []string{list[0].sentence()}
	}
	var sentences []string
	good, teeth := 0, int64(0)
	for _, i := range list {
		if i.isFaultless() {
			good++
			teeth += i.Result.Expected
			continue
		}
		sentences = append(sentences, "in "+i.title()+": "+i.sentence())
	}
	if good > 0 {
		sentences = append(sentences, fmt.Sprintf("in %s: %s: %s", those(good, len(list)), threshold.Clear, noFault(teeth)))
	}
	return sentences
}

// those are some of several, the others having been spoken of.
func those(n, of int) string {
	switch {
	case n == 2 && of == 2:
		return "both"
	case n == of:
		return fmt.Sprintf("all %d", n)
	case n == 1:
		return "the other"
	}
	return fmt.Sprintf("the other %d", n)
}

// isFaultless tells that nothing at all is to be said of a capture.
func (i InvestigatedCapture) isFaultless() bool {
	r := i.Result
	return r.Verdict == threshold.Clear && r.Faults() == 0 && r.Unjudged == 0
}

func noFault(teeth int64) string {
	return fmt.Sprintf("none of %d teeth missed, nothing counted beside them", teeth)
}

// sentence is the verdict with the first faulty speed.
func (i InvestigatedCapture) sentence() string {
	r := i.Result
	if len(r.Causes) > 0 && !r.Countable && r.Causes[0].Kind == replay.NoiseAbove {
		return fmt.Sprintf("%s: too noisy for any threshold, and too noisy to tell the wheel: nothing can be counted", r.Verdict)
	}
	if len(r.Causes) > 0 && !r.Countable {
		return fmt.Sprintf("%s: %s", r.Verdict, causeWords(r.Causes[0].Kind))
	}
	if r.Verdict == threshold.Unproven && !r.Countable {
		return fmt.Sprintf("%s: no speed and no threshold, as the wheel cannot be told: %s", r.Verdict, i.Measurement.WheelWhy)
	}
	if r.Verdict == threshold.Unproven {
		return fmt.Sprintf("%s: no whole turn of the wheel to judge by", r.Verdict)
	}
	if r.Faults() == 0 {
		text := fmt.Sprintf("%s: %s", r.Verdict, noFault(r.Expected))
		if r.Unjudged > 0 {
			text += " once the speed was known"
		}
		return text
	}
	from := ""
	if r.FirstJudgedRPM.Known {
		from = " from " + rpmText(r.FirstJudgedRPM.Value) + " rpm"
	}
	text := fmt.Sprintf("%s%s: %d of %d teeth missed, %d false events", r.Verdict, from, r.Missed, r.Expected, r.False)
	if r.Unseen > 0 {
		text += fmt.Sprintf(", %d teeth absent from the wave", r.Unseen)
	}
	if len(r.Causes) > 0 {
		text += "; " + causeWords(r.Causes[0].Kind)
	}
	return text
}

var causeText = map[string]string{
	replay.NotAReluctor:        "this is not a reluctor",
	replay.ReversedPolarity:    "the sensor's wires are reversed",
	replay.WheelDiffers:        "the wheel is not the one stated",
	replay.NoThreshold:         "the table has no threshold there",
	replay.CoarseSampling:      "the capture has too few samples to tell",
	replay.Dropout:             "the signal itself is lost at times",
	replay.Clipped:             "the peaks are cut off below the threshold",
	replay.CrossTalk:           "the other sensor couples into this one",
	replay.StarterNoise:        "the starter's noise is counted",
	replay.ShortTooth:          "a tooth is too short",
	replay.RunOut:              "the wheel runs out of true",
	replay.GapLobe:             "the teeth beside a gap differ from the others",
	replay.GapHump:             "something stands in a gap of the wheel",
	replay.CrankingDip:         "the wheel slows down too much at each compression",
	replay.FixedFrequencyNoise: "a tone of fixed frequency is counted",
	replay.SpeedLockedNoise:    "a tone that goes with the engine's speed is counted",
	replay.CrankLockedNoise:    "spikes at a fixed crank angle are counted",
	replay.AmplitudeBelow:      "the teeth do not reach the threshold",
	replay.NoiseAbove:          "noise passes the threshold",
	replay.Unexplained:         "no cause was found",
}

func causeWords(kind string) string { return causeText[kind] }

// why lists the causes with their shares.
func (i InvestigatedCapture) why() []string {
	var lines []string
	for _, c := range i.Result.Causes {
		lines = append(lines, fmt.Sprintf("why, %.0f %%: %s: %s", 100*c.Share, c.Kind, c.Evidence))
	}
	return lines
}

// then says what to do, what not, what next, and what the counts rest on.
func (i InvestigatedCapture) then() []string {
	var lines []string
	for _, c := range i.Result.Causes {
		if c.Advice != "" {
			lines = append(lines, "do: "+c.Advice)
		}
	}
	for _, c := range i.Result.Causes {
		if c.Not != "" {
			lines = append(lines, "not: "+c.Not)
		}
	}
	return slices.Concat(lines, i.next(), i.edges())
}

// next is what to do when that is done.
func (i InvestigatedCapture) next() []string {
	r := i.Result
	again := "record the same again and investigate it, before the engine is loaded"
	switch w := i.WithProposed; {
	case r.Verdict == threshold.Unproven && !r.Countable && !i.Measurement.Stated.Known():
		return []string{"next: investigate this capture again with the wheel stated, as in --wheel 36-1"}
	case r.Verdict == threshold.Unproven:
		return []string{"next: record two whole turns of the engine or more, and investigate that"}
	case !r.Countable:
		return []string{"next: " + again}
	case w == nil:
	case r.Faults() == 0:
		return []string{fmt.Sprintf("the table that propose gives would have missed %d teeth and counted %d false events", w.Missed, w.False)}
	case w.Missed+w.False < r.Missed+r.False-r.Unjudged:
		return []string{fmt.Sprintf("next: try the table that propose gives for this capture: it would have missed %d teeth and counted %d false events; then %s", w.Missed, w.False, again)}
	default:
		return []string{fmt.Sprintf("next: %s; no other table helps, the one that propose gives would have missed %d teeth and counted %d false events", again, w.Missed, w.False)}
	}
	if r.Faults() > 0 {
		return []string{"next: " + again}
	}
	return nil
}

// excludedShown is how many causes that were ruled out stand on the screen.
const excludedShown = 6

// ruledOut lists what was examined and is no cause; what concerns the kind of
// fault that there is stands first.
func (i InvestigatedCapture) ruledOut() []List {
	r := i.Result
	if r.Faults() == 0 || len(r.Excluded) == 0 {
		return nil // nothing to rule out a cause of
	}
	list := List{Title: "examined and ruled out", Shown: excludedShown}
	var aside []string
	for _, e := range r.Excluded {
		line := e.Kind + ": " + e.Evidence
		if e.Concerns(r.Counts) {
			list.Lines = append(list.Lines, line)
			continue
		}
		aside = append(aside, line)
	}
	list.Lines = append(list.Lines, aside...)
	return []List{list}
}

// edges are what the counts leave out or rest on.
func (i InvestigatedCapture) edges() []string {
	r := i.Result
	var lines []string
	if r.Unjudged > 0 {
		at := ""
		if r.FirstFaultRPM.Known {
			at = ", the first at " + rpmText(r.FirstFaultRPM.Value) + " rpm"
		}
		lines = append(lines, fmt.Sprintf("false events of the first turn, held against no table: %d%s; the capture begins with the engine running, the input with a speed of 0", r.Unjudged, at))
	}
	if r.Countable && r.Expected > 0 && r.Missed == 0 {
		lines = append(lines, fmt.Sprintf("0 of %d missed proves less than 1 in %.0f, at 95 %%", r.Expected, 1/replay.AtMost(0, r.Expected, 0.95)))
	}
	for _, s := range r.Shifts {
		lines = append(lines, fmt.Sprintf("counting on the level is late by %.2f crank degrees from %s to %s rpm", s.CrankDeg, rpmText(s.FromRPM), rpmText(s.ToRPM)))
	}
	return lines
}

// bySpeed is the table of counts.
func (i InvestigatedCapture) bySpeed() Table {
	t := Table{Title: "by speed", Data: true, Columns: []Column{
		{Head: "file", Key: "file", CSV: true}, {Head: "sensor", Key: "sensor", CSV: true},
		{Head: "from rpm", Key: "from_rpm"}, {Head: "to rpm", Key: "to_rpm"}, {Head: "teeth", Key: "expected"},
		{Head: "missed", Key: "missed"}, {Head: "unseen", Key: "unseen", Wide: i.Result.Unseen == 0}, {Head: "false", Key: "false"},
		{Head: "safe from V", Key: "lowest_safe_v"}, {Head: "to V", Key: "highest_safe_v"},
		{Head: "missed at most", Key: "missed_at_most", Wide: true}, {Head: "false at most", Key: "false_at_most", Wide: true},
	}}
	for _, b := range i.Result.Bands {
		t.Rows = append(t.Rows, []Cell{
			word(i.Name), word(i.Measurement.Sensor), rpmCell(b.FromRPM), rpmCell(b.ToRPM),
			countCell(b.Expected), countCell(b.Missed), countCell(b.Unseen), countCell(b.False),
			voltCell(b.LowestSafeV), voltCell(b.HighestSafeV), shareCell(b.MissedAtMost), shareCell(b.FalseAtMost),
		})
	}
	return t
}

func countCell(n int64) Cell { return word(strconv.FormatInt(n, 10)) }

func shareCell(share float64) Cell {
	return Cell{brief(100*share, 2).Text + " %", exactly(share)}
}

// InvestigatedJSON is the JSON of an investigation.
type InvestigatedJSON struct {
	Envelope
	Captures []InvestigatedCaptureJSON `json:"captures"`
}

// InvestigatedCaptureJSON is one sensor of one capture.
type InvestigatedCaptureJSON struct {
	File            string         `json:"file"`
	Sensor          string         `json:"sensor"`
	Verdict         string         `json:"verdict"`
	RevolutionsSeen int            `json:"revolutions_seen"`
	Expected        *int64         `json:"expected"`
	Counted         *int64         `json:"counted"`
	Missed          *int64         `json:"missed"`
	False           *int64         `json:"false"`
	Unseen          *int64         `json:"unseen"`
	FirstFaultRPM   captures.Maybe `json:"first_fault_rpm"`
	FirstJudgedRPM  captures.Maybe `json:"first_judged_rpm"` // of a fault that is held against the table
	BySpeed         []BandJSON     `json:"by_speed"`
	Causes          []CauseJSON    `json:"causes"`
	Excluded        []ExcludedJSON `json:"excluded"`
	WithProposed    *WouldJSON     `json:"with_proposed"`
	ToothHeights    []HeightJSON   `json:"tooth_heights"`
	Findings        []FindingJSON  `json:"findings"`
	Shifts          []ShiftJSON    `json:"level_shifts,omitempty"`
	Events          []EventJSON    `json:"events,omitempty"`
}

// BandJSON is what happened between two speeds.
type BandJSON struct {
	FromRPM      float64        `json:"from_rpm"`
	ToRPM        float64        `json:"to_rpm"`
	Expected     int64          `json:"expected"`
	Missed       int64          `json:"missed"`
	False        int64          `json:"false"`
	Unseen       int64          `json:"unseen"`
	PeakV        captures.Maybe `json:"peak_v"`
	LowestSafeV  captures.Maybe `json:"lowest_safe_v"`
	HighestSafeV captures.Maybe `json:"highest_safe_v"`
	MissedAtMost float64        `json:"missed_at_most"`
	FalseAtMost  float64        `json:"false_at_most"`
}

// CauseJSON is a cause.
type CauseJSON struct {
	Kind     string  `json:"kind"`
	Share    float64 `json:"share"`
	Evidence string  `json:"evidence"`
	Advice   string  `json:"advice"`
	Not      string  `json:"not"`
}

// ExcludedJSON is a cause that was ruled out.
type ExcludedJSON struct {
	Kind     string `json:"kind"`
	Evidence string `json:"evidence"`
}

// WouldJSON is what the proposed table would have done.
type WouldJSON struct {
	Missed int64 `json:"missed"`
	False  int64 `json:"false"`
}

// ShiftJSON is how late an input is that counts on the level.
type ShiftJSON struct {
	FromRPM  float64 `json:"from_rpm"`
	ToRPM    float64 `json:"to_rpm"`
	CrankDeg float64 `json:"crank_deg"`
}

// EventJSON is a miss or a false event.
type EventJSON struct {
	TimeS      float64        `json:"t_s"`
	Event      string         `json:"event"`
	Tooth      *int           `json:"tooth"`
	RPM        float64        `json:"rpm"`
	CrankDeg   captures.Maybe `json:"crank_deg"`
	SignalV    float64        `json:"signal_v"`
	ThresholdV captures.Maybe `json:"threshold_v"`
}

// InvestigateJSON is the JSON of an investigation; its verdict is the worst of
// the captures'.
func InvestigateJSON(list []InvestigatedCapture, c Context) InvestigatedJSON {
	worst := threshold.Clear
	out := InvestigatedJSON{Captures: []InvestigatedCaptureJSON{}}
	for _, i := range list {
		worst = max(worst, i.Result.Verdict)
		out.Captures = append(out.Captures, investigatedJSON(i))
	}
	if len(c.Missing) > 0 {
		worst = max(worst, threshold.Unproven)
	}
	out.Envelope = c.envelope("investigate", worst.String())
	return out
}

func investigatedJSON(i InvestigatedCapture) InvestigatedCaptureJSON {
	r := i.Result
	out := InvestigatedCaptureJSON{
		File: i.Name, Sensor: i.Measurement.Sensor, Verdict: r.Verdict.String(), RevolutionsSeen: i.Measurement.Revolutions,
		FirstFaultRPM: r.FirstFaultRPM, FirstJudgedRPM: r.FirstJudgedRPM, BySpeed: []BandJSON{}, Causes: []CauseJSON{}, Excluded: []ExcludedJSON{},
		ToothHeights: heightsJSON(i.Measurement.Weak), Findings: findingsJSON(r.Findings),
	}
	if r.Countable {
		out.Expected, out.Counted, out.Missed, out.False, out.Unseen = &r.Expected, &r.Counted, &r.Missed, &r.False, &r.Unseen
	}
	for _, b := range r.Bands {
		out.BySpeed = append(out.BySpeed, BandJSON{
			b.FromRPM, b.ToRPM, b.Expected, b.Missed, b.False, b.Unseen, b.PeakV, b.LowestSafeV, b.HighestSafeV, b.MissedAtMost, b.FalseAtMost,
		})
	}
	for _, x := range r.Causes {
		out.Causes = append(out.Causes, CauseJSON{x.Kind, x.Share, x.Evidence, x.Advice, x.Not})
	}
	for _, x := range r.Excluded {
		out.Excluded = append(out.Excluded, ExcludedJSON{x.Kind, x.Evidence})
	}
	if i.WithProposed != nil {
		out.WithProposed = &WouldJSON{i.WithProposed.Missed, i.WithProposed.False}
	}
	for _, s := range r.Shifts {
		out.Shifts = append(out.Shifts, ShiftJSON{s.FromRPM, s.ToRPM, s.CrankDeg})
	}
	for _, e := range r.Events {
		out.Events = append(out.Events, eventJSON(e))
	}
	return out
}

func eventJSON(e replay.Event) EventJSON {
	out := EventJSON{TimeS: e.TimeS, Event: "missed", RPM: e.RPM, CrankDeg: e.CrankDeg, SignalV: e.SignalV, ThresholdV: e.ThresholdV}
	switch {
	case e.False:
		out.Event = "false"
	case e.Unseen:
		out.Event = "unseen"
	}
	if e.Tooth > 0 {
		out.Tooth = &e.Tooth
	}
	return out
}
