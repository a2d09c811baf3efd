package threshold

import (
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"

	"armcurve/captures"
)

// Result is a table judged for one sensor.
type Result struct {
	Sensor    *Sensor
	Table     Table
	Judgement Judgement
	Proof     Proof
	// Choice tells of a number of rows that was left open, nil otherwise.
	Choice *RowChoice
	// Suggested is the table that would be proposed at the same speeds, for a
	// table that was given.
	Suggested *Table
	// Repair is the smallest change that mends a given table; nil unless asked
	// for.
	Repair *Repair
	// Next is what to measure next; nil where nothing promises much.
	Next *Next
	// Findings of the readings and of the table, worst first.
	Findings []captures.Finding
}

// Propose fits the sensor and proposes its table.
func Propose(readings []captures.Reading, o Options) (Result, error) {
	s, err := NewSensor(readings, o)
	if err != nil {
		return Result{}, err
	}
	speeds, choice := s.axis()
	r := s.result(s.proposeAt(speeds), nil)
	r.Choice = choice
	return r, nil
}

// Check fits the sensor and judges a given table at every speed.
func Check(readings []captures.Reading, t Table, o Options) (Result, error) {
	s, err := NewSensor(readings, o)
	if err != nil {
		return Result{}, err
	}
	return s.Check(t), nil
}

// Check judges a given table at every speed.
func (s *Sensor) Check(t Table) Result {
	suggested := s.proposeAt(t.speedsRPM())
	return s.result(t, &suggested)
}

func (s *Sensor) result(t Table, suggested *Table) Result {
	r := Result{Sensor: s, Table: t, Judgement: s.Judge(t), Suggested: suggested, Proof: s.prove(t.speedsRPM())}
	r.heldBack()
	if next, ok := r.next(); ok {
		r.Next = &next
	}
	r.Findings = slices.Concat(s.Findings, r.tableFindings())
	SortFindings(r.Findings)
	return r
}

// tableFindings tell where and why the table misses a target.
func (r Result) tableFindings() []captures.Finding {
	return slices.Concat(r.windowFindings(), r.marginFindings(), r.limitFindings(), r.nextFindings())
}

// windowFindings tell where noise reaches the weakest tooth, with the figures
// of the speed where it does so most.
func (r Result) windowFindings() []captures.Finding {
	var closed []Window
	for _, w := range r.Sensor.windows {
		if w.closed() {
			closed = append(closed, w)
		}
	}
	if len(closed) == 0 {
		return nil
	}
	first, last := closed[0], closed[len(closed)-1]
	worst := first
	for _, w := range closed {
		if w.room() < worst.room() || w.room() == worst.room() && w.Turning && !worst.Turning {
			worst = w
		}
	}
	f := captures.Finding{
		Kind: NoWindow, Severity: captures.Problem, FromRPM: captures.Some(first.RPM), ToRPM: captures.Some(last.RPM),
		Text: fmt.Sprintf("noise reaches the weakest tooth %s: at %s rpm %s V (%s) against %s V%s, so no threshold can tell them apart",
			speedRange(first.RPM, last.RPM), whole(worst.RPM), volts(worst.NoiseV.Value), partNames[worst.NoisePart], volts(worst.WeakestV), worst.ofFirstTeeth()),
		Advice: "lower the noise (shielded twisted pair, one earth, away from ignition and starter cables) or raise the signal (smaller gap), then measure again",
	}
	if !last.Measured {
		f.Severity = captures.Warning
		f.Advice = "measure peak and noise while cranking: amplitude there is only scaled down from higher speeds"
	}
	return []captures.Finding{f}
}

// ofFirstTeeth says whose volts a weakest tooth below cranking are.
func (w Window) ofFirstTeeth() string {
	if w.Turning {
		return ""
	}
	return " of the first teeth while cranking"
}

// partNames say what a part of the noise ceiling is.
var partNames = map[string]string{
	PartNoise:   "noise that comes at any time",
	PartSpikes:  "spikes and the noise they stand on",
	PartHump:    "the hump inside a gap, and noise",
	PartChatter: "noise at a tooth's slow fall",
}

// atSpeed names a speed, one right below a row as such.
func (b BetweenRows) atSpeed(rpm float64) string {
	if tidy := b.tidyRPM(rpm); tidy < rpm && rpm-tidy > 0.09 {
		return strconv.FormatFloat(tidy, 'f', 1, 64)
	}
	return whole(rpm)
}

// speedRange names a range of speeds, or the one speed that it is.
func speedRange(fromRPM, toRPM float64) string {
	from, to := whole(fromRPM), whole(toRPM)
	if from == to {
		return "at " + from + " rpm"
	}
	return "from " + from + " to " + to + " rpm"
}

// missed is an unbroken range of speeds at which a table misses a target.
type missed struct {
	side            func(margins) captures.Maybe
	from, to, worst Window
	margin, target  float64
}

// marginFindings tell the worst speed of each margin that misses its target.
func (r Result) marginFindings() []captures.Finding {
	signal := missed{side: func(m margins) captures.Maybe { return m.signal }}
	noise := missed{side: func(m margins) captures.Maybe { return m.noise }}
	for _, w := range r.Sensor.newJudge(r.Table.speedsRPM()).windows {
		m := w.judgeAt(r.Table)
		signal.extend(w, m, w.SignalTarget)
		noise.extend(w, m, w.NoiseTarget)
	}
	var list []captures.Finding
	if signal.target > 0 {
		list = append(list, r.finding(signal, ThinSignal, "the weakest tooth is only %s × the threshold at %s rpm (want %s)", r.signalMeaning(signal.worst)))
	}
	if noise.target > 0 {
		list = append(list, r.finding(noise, ThinNoise, "the threshold is only %s × the noise at %s rpm (want %s)", "the threshold is too low there: noise may count as teeth"))
	}
	return list
}

// signalMeaning says what a signal margin missed does.
func (r Result) signalMeaning(w Window) string {
	if w.Turning {
		return "the threshold is too high there: teeth may be lost"
	}
	return r.Sensor.firstTeeth(w.RPM) + ": at this one they may be lost, and the engine not start"
}

// firstTeeth says why a threshold below cranking has to let teeth pass.
func (s *Sensor) firstTeeth(rpm float64) string {
	if rpm > 0 {
		return fmt.Sprintf("until the wheel has turned once and while it is spun up the input believes less than the %s rpm of cranking, so its first teeth must pass the thresholds below", whole(s.Options.CrankingLowRPM))
	}
	return "the input believes 0 rpm until the wheel has turned once, so the first teeth while cranking must pass this threshold"
}

// extend takes the margins at one speed into the range, if the target is missed
// there. Of speeds alike the worst is one at which the engine turns.
func (m *missed) extend(w Window, at margins, target float64) {
	margin := m.side(at)
	if !margin.Known || margin.Value >= target*(1-targetSlack) {
		return
	}
	if m.target == 0 {
		m.from = w
	}
	m.to = w
	score, least := margin.Value/target, m.margin/m.target
	if m.target == 0 || score < least || score == least && w.Turning && !m.worst.Turning {
		m.worst, m.margin, m.target = w, margin.Value, target
	}
}

func (r Result) finding(m missed, kind, text, meaning string) captures.Finding {
	f := captures.Finding{
		Kind: kind, Severity: captures.Warning, FromRPM: captures.Some(m.from.RPM), ToRPM: captures.Some(m.to.RPM),
		Text:   fmt.Sprintf(text, roundDown(m.margin), r.Table.BetweenRows.atSpeed(m.worst.RPM), roundUp(m.target)),
		Advice: meaning,
	}
	if m.margin <= 1 && m.worst.Measured {
		f.Severity = captures.Problem
	}
	if r.Suggested == nil {
		f.Advice = r.remedy(m.worst)
	} else {
		f.Advice = strings.Join(append([]string{meaning}, r.changes(m)...), "; ")
	}
	return f
}

// changes say what to write into a row beside a speed where that gains the
// margin missed there, and where another row is wanted.
func (r Result) changes(m missed) []string {
	w := m.worst
	now, then := w.judgeAt(r.Table), w.judgeAt(*r.Suggested)
	var list []string
	change, ok := r.change(m)
	switch gains := m.side(then).Value > m.margin; {
	case ok && gains && then.score > now.score:
		list = append(list, change)
	case !gains && w.bestScore() < 1-targetSlack:
		list = append(list, "there is no room for both margins: lower the noise or raise the signal")
	}
	if then.score < 1-targetSlack && r.lost(*r.Suggested, w) == HeldByAxis {
		list = append(list, anotherRow(w))
	}
	return list
}

// change is the value to write into the row that answers for a speed, or into
// the one on its other side: the proposed one, where that alone gains the margin
// missed. Beside a row that is to fall another may have to rise.
func (r Result) change(m missed) (string, bool) {
	for _, i := range r.Table.rowsFor(m.worst.RPM) {
		was, better := r.Table.Rows[i], r.Suggested.Rows[i].ThresholdV
		if !was.ThresholdV.Known || !better.Known {
			continue
		}
		changed := Table{Rows: slices.Clone(r.Table.Rows), BetweenRows: r.Table.BetweenRows}
		changed.Rows[i].ThresholdV = better
		if m.side(m.worst.judgeAt(changed)).Value > m.margin {
			return fmt.Sprintf("change %s V at %s rpm to %s V", volts(was.ThresholdV.Value), whole(was.RPM), volts(better.Value)), true
		}
	}
	return "", false
}

func anotherRow(w Window) string {
	return fmt.Sprintf("the rows stand too far apart here: another row beside %s rpm gains margin", whole(w.RPM))
}

// lost names what keeps a table from the best score that the window of one
// speed allows; "" where that score is reached.
func (r Result) lost(t Table, w Window) string {
	in, best := r.Sensor.Options.Input, min(1, w.bestScore())
	aimV, ok := r.Sensor.aim(w)
	if !ok || w.judgeAt(t).score*clearlyBetter >= best {
		return ""
	}
	below, above := in.steps().around(aimV)
	inSteps := max(w.judge(in.steps().volts(below)).score, w.judge(in.steps().volts(above)).score)
	switch {
	case aimV < in.MinV.Or(0) || in.MaxV.Known && aimV > in.MaxV.Value:
		return HeldByLimit
	case inSteps*clearlyBetter < best:
		return HeldByStep
	}
	return HeldByAxis
}

// remedy says what would let a proposed table do better at a speed.
func (r Result) remedy(w Window) string {
	switch lost := r.lost(r.Table, w); {
	case !w.Measured:
		return "measure peak and noise while cranking: the bounds there are wide only because nothing was measured"
	case w.closed():
		return "no threshold does better while noise reaches the weakest tooth"
	case lost == HeldByAxis:
		return anotherRow(w)
	case lost == HeldByStep:
		return fmt.Sprintf("the input's step of %s V is coarse here: a finer one gains margin", volts(r.Sensor.Options.Input.StepV))
	case lost == HeldByLimit:
		return "a limit of the input keeps the threshold from a better value here"
	case w.RPM < 3*r.Sensor.Options.CrankingRPM && !(r.Sensor.crankingMeasured && len(r.Sensor.weakest.whileCranking) > 0):
		return "the room is narrow here: state the real cranking speed, measure the weakest tooth and the noise while cranking, or lower the noise"
	}
	return "the room is narrow here: lower the noise or raise the signal"
}

// limitFindings name a limit of the input that leaves the window.
func (r Result) limitFindings() []captures.Finding {
	in := r.Sensor.Options.Input
	return slices.Concat(
		r.limitFinding("threshold_min_v", in.MinV, func(v float64) bool { return v <= in.MinV.Value+in.StepV/2 }),
		r.limitFinding("threshold_max_v", in.MaxV, func(v float64) bool { return v >= in.MaxV.Value-in.StepV/2 }),
	)
}

func (r Result) limitFinding(name string, limit captures.Maybe, at func(thresholdV float64) bool) []captures.Finding {
	var forced []float64 // speeds
	for _, row := range r.Judgement.Rows {
		w, v := row.Window, row.ThresholdV
		outside := w.NoiseV.Known && v.Value <= w.NoiseV.Value || v.Value >= w.WeakestV
		if limit.Known && v.Known && outside && at(v.Value) {
			forced = append(forced, row.RPM)
		}
	}
	if len(forced) == 0 {
		return nil
	}
	first, last := forced[0], forced[len(forced)-1]
	return []captures.Finding{{
		Kind: AtLimit, Severity: captures.Problem, FromRPM: captures.Some(first), ToRPM: captures.Some(last),
		Text:   fmt.Sprintf("%s (%s V) forces the threshold out of the window %s", name, volts(limit.Value), speedRange(first, last)),
		Advice: "this input cannot serve this sensor there: change the gap, the load or the input",
	}}
}

// roundDown writes a margin with two decimals, never rounded up.
func roundDown(v float64) string {
	text := fmt.Sprintf("%.9f", v)
	return text[:len(text)-7]
}

// roundUp writes a target with two decimals, never rounded down: beside a
// margin that misses it, it is the larger of the two.
func roundUp(v float64) string {
	return fmt.Sprintf("%.2f", math.Ceil(v*100-targetSlack)/100)
}
