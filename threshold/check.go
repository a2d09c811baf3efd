package threshold

import (
	"fmt"
	"slices"

	"armcurve/captures"
)

// Result is a table judged for one sensor.
type Result struct {
	Sensor    *Sensor
	Table     Table
	Judgement Judgement
	// Suggested is the table that would be proposed at the same speeds, for a
	// table that was given.
	Suggested *Table
	// Findings of the readings and of the table, worst first.
	Findings []captures.Finding
}

// Propose fits the sensor and proposes its table.
func Propose(readings []captures.Reading, o Options) (Result, error) {
	s, err := NewSensor(readings, o)
	if err != nil {
		return Result{}, err
	}
	return s.result(s.Propose(), nil), nil
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
	r := Result{Sensor: s, Table: t, Judgement: s.Judge(t), Suggested: suggested}
	r.blameThreshold()
	r.Findings = slices.Concat(s.Findings, r.tableFindings())
	SortFindings(r.Findings)
	return r
}

// blameThreshold names the table's own thresholds as what holds it back where
// others on the same axis would do clearly better at its worst speed.
func (r *Result) blameThreshold() {
	if r.Suggested == nil {
		return
	}
	worst := &r.Judgement.Worst
	better := r.Sensor.Window(worst.RPM).judgeAt(*r.Suggested).score
	if min(better, 1) > clearlyBetter*worst.Score {
		worst.HeldBackBy = "threshold"
	}
}

// clearlyBetter is the ratio of scores from which on another table is better
// and not just rounded otherwise.
const clearlyBetter = 1.02

// tableFindings tell where and why the table misses a target.
func (r Result) tableFindings() []captures.Finding {
	return slices.Concat(r.windowFindings(), r.marginFindings(), r.limitFindings())
}

func (r Result) windowFindings() []captures.Finding {
	s := r.Sensor
	var closed []Window
	for _, w := range s.windows {
		if w.Turning && w.closed() {
			closed = append(closed, w)
		}
	}
	if len(closed) == 0 {
		return nil
	}
	first, last := closed[0], closed[len(closed)-1]
	f := captures.Finding{
		Kind: NoWindow, Severity: captures.Problem, FromRPM: captures.Some(first.RPM), ToRPM: captures.Some(last.RPM),
		Text: fmt.Sprintf("noise (%s V, %s) reaches the weakest tooth (%s V) at %s rpm: no threshold can tell them apart there",
			volts(first.NoiseV.Value), first.NoisePart, volts(first.WeakestV), whole(first.RPM)),
		Advice: "lower the noise (shielded twisted pair, one earth, away from ignition and starter cables) or raise the signal (smaller gap, other polarity of the wheel's edge), then measure again",
	}
	if !last.Measured {
		f.Severity = captures.Warning
		f.Advice = "measure peak and noise while cranking: amplitude there is only scaled down from higher speeds"
	}
	return []captures.Finding{f}
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
		Text:   fmt.Sprintf(text, roundDown(m.margin), whole(m.worst.RPM), factor(m.target)),
		Advice: meaning,
	}
	if m.margin <= 1 && m.worst.Measured {
		f.Severity = captures.Problem
	}
	if change, ok := r.change(m.worst.RPM); ok {
		f.Advice += "; " + change
	} else if r.Suggested == nil && !m.worst.closed() {
		f.Advice = r.remedy(m)
	}
	return f
}

// change says what to write into the row that answers for a speed, where a
// table was given and a better value is known.
func (r Result) change(rpm float64) (string, bool) {
	if r.Suggested == nil || len(r.Table.Rows) == 0 {
		return "", false
	}
	i := r.Table.rowFor(rpm)
	was, better := r.Table.Rows[i], r.Suggested.Rows[i].ThresholdV
	if !better.Known || !was.ThresholdV.Known || better.Value == was.ThresholdV.Value {
		return "", false
	}
	return fmt.Sprintf("change %s V at %s rpm to %s V", volts(was.ThresholdV.Value), whole(was.RPM), volts(better.Value)), true
}

// remedy says what would let a proposed table do better.
func (r Result) remedy(m *missed) string {
	switch {
	case !m.worst.Measured:
		return "measure peak and noise while cranking: the bounds there are wide only because nothing was measured"
	case r.Judgement.Worst.HeldBackBy == "step" || r.Judgement.Worst.HeldBackBy == "axis" || r.Judgement.Worst.HeldBackBy == "limit":
		return fmt.Sprintf("the input's %s costs margin here: a finer one, or another row near %s rpm, helps", r.Judgement.Worst.HeldBackBy, whole(m.worst.RPM))
	case m.worst.RPM < 3*r.Sensor.Options.CrankingRPM:
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
