package report

import (
	"fmt"
	"math"
	"strconv"

	"armcurve/captures"
	"armcurve/threshold"
)

// worstNote says where the table is tightest, what no table with the same rows
// can beat, and what holds it back; "" where the worst is that there is no
// threshold.
func worstNote(r threshold.Result) string {
	w, best := r.Judgement.Worst, r.Proof.Best
	if !w.SignalMargin.Known && !w.NoiseMargin.Known {
		return ""
	}
	text := fmt.Sprintf("tightest at %s rpm with %s × the margin wanted, held back by %s", worstText(w.RPM), marginText(w.Score), heldBackBy(r))
	switch {
	case !best.Known:
		return text
	case w.HeldBackBy == threshold.HeldByThreshold:
		return text + fmt.Sprintf("; a table with the same rows can keep %s × at every speed", marginText(best.Value))
	case best.Value <= w.Score*sameScore:
		return text + "; no table with the same rows keeps more" + costNotes(r)
	}
	return fmt.Sprintf("tightest at %s rpm with %s × the margin wanted; no table with the same rows keeps more than %s × at every speed, held back at %s rpm by %s",
		worstText(w.RPM), marginText(w.Score), boundText(best.Value), worstText(r.Proof.BestRPM), heldBackBy(r)) + costNotes(r)
}

// sameScore is the ratio of scores that look the same.
const sameScore = 1.001

// heldBackBy names what holds a table back, with the part of the noise, or with
// what it costs.
func heldBackBy(r threshold.Result) string {
	w, p := r.Judgement.Worst, r.Proof
	switch w.HeldBackBy {
	case threshold.HeldBySignal:
		return "the signal"
	case threshold.HeldByNoise:
		return noiseNames[w.NoisePart]
	case threshold.HeldByAxis:
		return "the distance between rows, which costs " + percent(p.AxisCost)
	case threshold.HeldByLimit:
		return "a limit of the input, which costs " + percent(p.LimitCost)
	case threshold.HeldByStep:
		return fmt.Sprintf("the input's step of %s V, which costs %s", exactly(r.Sensor.Options.Input.StepV), percent(p.StepCost))
	}
	return "its threshold"
}

var noiseNames = map[string]string{
	threshold.PartNoise:   "the noise",
	threshold.PartSpikes:  "the noise: spikes",
	threshold.PartHump:    "the noise: the hump in a gap",
	threshold.PartChatter: "the noise at a tooth's slow fall",
}

// boundText rounds up: nothing beats what is shown.
func boundText(v float64) string {
	if v >= mostMargin {
		return "999"
	}
	return strconv.FormatFloat(math.Ceil(v*100-1e-9)/100, 'f', 2, 64)
}

// leastCostShown is the part of a margin that is worth telling of.
const leastCostShown = 0.01

// costNotes tell what else costs margin.
func costNotes(r threshold.Result) string {
	w, p := r.Judgement.Worst, r.Proof
	text := ""
	for _, cost := range []struct {
		by, what string
		part     float64
	}{
		{threshold.HeldByAxis, "the distance between rows costs", p.AxisCost},
		{threshold.HeldByLimit, "a limit of the input costs", p.LimitCost},
		{threshold.HeldByStep, fmt.Sprintf("a step of %s V costs", exactly(r.Sensor.Options.Input.StepV)), p.StepCost},
	} {
		if cost.part >= leastCostShown && cost.by != w.HeldBackBy && w.HeldBackBy != threshold.HeldByThreshold {
			text += fmt.Sprintf("; %s %s", cost.what, percent(cost.part))
		}
	}
	return text
}

func percent(part float64) string { return strconv.FormatFloat(100*part, 'f', 0, 64) + " %" }

// choiceNote says why there are as many rows as there are; "" where that was
// stated.
func choiceNote(r threshold.Result) string {
	c := r.Choice
	if c == nil {
		return ""
	}
	text := fmt.Sprintf("%d rows come as near to both margins as more would", c.Rows)
	switch {
	case c.Reaches:
		text = fmt.Sprintf("%d rows reach both margins", c.Rows)
	case !r.Sensor.NoiseKnown():
		text = fmt.Sprintf("%d rows follow the weakest tooth as closely as more would", c.Rows)
	}
	if c.MoreRows > 0 {
		return text + fmt.Sprintf("; %d gain %s more", c.MoreRows, percent(c.Gain))
	}
	if c.Reaches {
		return text + "; more gain nothing"
	}
	return text
}

// WorstJSON is where a table is tightest, and what any table with the same rows
// could keep. A score is the least margin ÷ the one wanted at any speed: its target, or what
// the room leaves of it.
type WorstJSON struct {
	RPM          float64        `json:"rpm"`
	SignalMargin captures.Maybe `json:"signal_margin"`
	NoiseMargin  captures.Maybe `json:"noise_margin"`
	Score        captures.Maybe `json:"score"`
	HeldBackBy   *string        `json:"held_back_by"`
	NoisePart    *string        `json:"noise_part"`
	BestScore    captures.Maybe `json:"best_score"`
	BestRPM      captures.Maybe `json:"best_rpm"`
	// Costs are parts of the score, lost one after the other; null where there
	// is no best score.
	AxisCost  captures.Maybe `json:"axis_cost"`
	LimitCost captures.Maybe `json:"limit_cost"`
	StepCost  captures.Maybe `json:"step_cost"`
}

func worstJSON(r threshold.Result) WorstJSON {
	w, p := r.Judgement.Worst, r.Proof
	out := WorstJSON{
		RPM: w.RPM, SignalMargin: w.SignalMargin, NoiseMargin: w.NoiseMargin, Score: captures.Finite(w.Score),
		HeldBackBy: maybeText(w.HeldBackBy), NoisePart: maybeText(w.NoisePart), BestScore: p.Best,
	}
	if p.Best.Known {
		out.BestRPM, out.AxisCost = captures.Some(p.BestRPM), captures.Some(p.AxisCost)
		out.LimitCost, out.StepCost = captures.Some(p.LimitCost), captures.Some(p.StepCost)
	}
	return out
}

// ChoiceJSON tells of a number of rows that was left open.
type ChoiceJSON struct {
	Rows     int            `json:"rows"`
	Reaches  bool           `json:"reaches_targets"`
	MoreRows *int           `json:"more_rows"`
	Gain     captures.Maybe `json:"gain"`
}

func choiceJSON(c *threshold.RowChoice) *ChoiceJSON {
	if c == nil {
		return nil
	}
	out := &ChoiceJSON{Rows: c.Rows, Reaches: c.Reaches}
	if c.MoreRows > 0 {
		out.MoreRows, out.Gain = &c.MoreRows, captures.Some(c.Gain)
	}
	return out
}

// NextJSON is what to measure next.
type NextJSON struct {
	What  string         `json:"what"`
	RPM   captures.Maybe `json:"rpm"`
	AtRPM float64        `json:"at_rpm"`
	Gain  captures.Maybe `json:"gain"`
}

func nextJSON(n *threshold.Next) *NextJSON {
	if n == nil {
		return nil
	}
	out := &NextJSON{What: n.What, RPM: n.RPM, AtRPM: n.AtRPM}
	if n.Gain > 0 {
		out.Gain = captures.Some(n.Gain)
	}
	return out
}
