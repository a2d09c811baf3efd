package threshold

import (
	"fmt"
	"math"
	"slices"
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
	for _, w := range r.Sensor.newJudge(nil).windows {
		if w.Turning && w.closed() {
			closed = append(closed, w)
		}
	}
	if len(closed) == 0 {
		return nil
	}
	first, last := closed[0], closed[len(closed)-1]
	worst := slices.MinFunc(closed, func(a, b Window) int { return compareFloat(a.room(), b.room()) })
	f := captures.Finding{
		Kind: NoWindow, Severity: captures.Problem, FromRPM: captures.Some(first.RPM), ToRPM: captures.Some(last.RPM),
		Text: fmt.Sprintf("noise reaches the weakest tooth %s: %s V (%s) against %s V at %s rpm, so no threshold can tell them apart",
			speedRange(first.RPM, last.RPM), volts(worst.NoiseV.Value), partNames[worst.NoisePart], volts(worst.WeakestV), whole(worst.RPM)),
		Advice: "lower the noise (shielded twisted pair, one earth, away from ignition and starter cables) or raise the signal (smaller gap), then measure again",
	}
	if !last.Measured {
		f.Severity = captures.Warning
		f.Advice = "measure peak and noise while cranking: amplitude there is only scaled down from higher speeds"
	}
	return []captures.Finding{f}
}

// partNames say what a part of the noise ceiling is.
var partNames = map[string]string{
	PartNoise:   "noise that comes at any time",
	PartSpikes:  "spikes and the noise they stand on",
	PartHump:    "the hump inside a gap, and noise",
	PartChatter: "noise at a tooth's slow fall",
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
	from, to, worst Window
	margin, target  float64
}

// marginFindings tell the worst speed of each margin that misses its target.
func (r Result) marginFindings() []captures.Finding {
	var signal, noise *missed
	for _, w := range r.Sensor.newJudge(r.Table.speedsRPM()).windows {
		m := w.judgeAt(r.Table)
		signal = signal.extend(w, m.signal, w.SignalTarget)
		noise = noise.extend(w, m.noise, w.NoiseTarget)
	}
	var list []captures.Finding
	if signal != nil {
		list = append(list, r.finding(signal, ThinSignal, "the weakest tooth is only %s × the threshold at %s rpm (want %s)", "the threshold is too high there: teeth may be lost"))
	}
	if noise != nil {
		list = append(list, r.finding(noise, ThinNoise, "the threshold is only %s × the noise at %s rpm (want %s)", "the threshold is too low there: noise may count as teeth"))
	}
	return list
}

func (m *missed) extend(w Window, margin captures.Maybe, target float64) *missed {
	if !margin.Known || margin.Value >= target*(1-targetSlack) {
		return m
	}
	if m == nil {
		m = &missed{from: w, worst: w, margin: margin.Value, target: target}
	}
	m.to = w
	if margin.Value/target < m.margin/m.target {
		m.worst, m.margin, m.target = w, margin.Value, target
	}
	return m
}

func (r Result) finding(m *missed, kind, text, meaning string) captures.Finding {
	f := captures.Finding{
		Kind: kind, Severity: captures.Warning, FromRPM: captures.Some(m.from.RPM), ToRPM: captures.Some(m.to.RPM),
		Text:   fmt.Sprintf(text, roundDown(m.margin), whole(m.worst.RPM), roundUp(m.target)),
		Advice: meaning,
	}
	if m.margin <= 1 && m.worst.Measured {
		f.Severity = captures.Problem
	}
	if r.Suggested == nil {
		f.Advice = r.remedy(m.worst)
	} else {
		f.Advice = strings.Join(append([]string{meaning}, r.changes(m.worst)...), "; ")
	}
	return f
}

// changes say what to write into the row that answers for a speed where that
// gains margin there, and where another row is wanted.
func (r Result) changes(w Window) []string {
	now, then := w.judgeAt(r.Table), w.judgeAt(*r.Suggested)
	var list []string
	if change, ok := r.change(w.RPM); ok && then.score > now.score {
		list = append(list, change)
	}
	if then.score < 1-targetSlack && r.lost(*r.Suggested, w) == HeldByAxis {
		list = append(list, anotherRow(w))
	}
	return list
}

// change is the value to write into the row that answers for a speed, where a
// table was given and another value is proposed.
func (r Result) change(rpm float64) (string, bool) {
	if len(r.Table.Rows) == 0 {
		return "", false
	}
	i := r.Table.rowFor(rpm)
	was, better := r.Table.Rows[i], r.Suggested.Rows[i].ThresholdV
	if !better.Known || !was.ThresholdV.Known || better.Value == was.ThresholdV.Value {
		return "", false
	}
	return fmt.Sprintf("change %s V at %s rpm to %s V", volts(was.ThresholdV.Value), whole(was.RPM), volts(better.Value)), true
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
	case w.Turning && w.closed():
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
	for _, row := range r.Judgement.Rows {
		w := row.Window
		if !row.ThresholdV.Known || !w.Turning {
			continue
		}
		outside := w.NoiseV.Known && row.ThresholdV.Value <= w.NoiseV.Value || row.ThresholdV.Value >= w.WeakestV
		atMin := in.MinV.Known && row.ThresholdV.Value <= in.MinV.Value+in.StepV/2
		atMax := in.MaxV.Known && row.ThresholdV.Value >= in.MaxV.Value-in.StepV/2
		if outside && (atMin || atMax) {
			name, limit := "threshold_min_v", in.MinV
			if !atMin {
				name, limit = "threshold_max_v", in.MaxV
			}
			return []captures.Finding{{
				Kind: AtLimit, Severity: captures.Problem, FromRPM: captures.Some(row.RPM), ToRPM: captures.Some(row.RPM),
				Text:   fmt.Sprintf("%s (%s V) forces the threshold out of the window at %s rpm", name, volts(limit.Value), whole(row.RPM)),
				Advice: "this input cannot serve this sensor at that speed: change the gap, the load or the input",
			}}
		}
	}
	return nil
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
