package report

import (
	"fmt"
	"math"
	"strconv"
	"strings"

	"armcurve/threshold"
)

// tableSentence is the verdict on one sensor's table.
func tableSentence(r threshold.Result) string {
	s, j := r.Sensor, r.Judgement
	name := "the " + s.Name + " table"
	limit := rpmText(s.LimitRPM)
	switch {
	case j.Verdict == threshold.Clear:
		return fmt.Sprintf("%s is clear: every speed up to %s rpm keeps the margins wanted to the weakest tooth and to the noise", name, limit)
	case j.Verdict == threshold.Fails:
		return name + " fails: " + failure(r)
	case j.Verdict == threshold.Unproven && !s.NoiseKnown():
		return fmt.Sprintf("%s is unproven: noise was not measured, so only the weakest tooth was taken into account", name)
	case j.Verdict == threshold.Unproven:
		return fmt.Sprintf("%s is unproven at cranking, where nothing was measured; it is clear from %s rpm up to %s rpm", name, clearFrom(j), limit)
	}
	return fmt.Sprintf("%s is thin: %s", name, bothMargins(r))
}

func clearFrom(j threshold.Judgement) string { return rpmText(j.ClearFromRPM.Value) }

// failure says where and by which side a table fails.
func failure(r threshold.Result) string {
	if none := withoutThreshold(r); none != "" {
		return "noise reaches the weakest tooth at " + none + " rpm, so no threshold is given there"
	}
	return bothMargins(r)
}

// withoutThreshold names the rows that have no threshold, as speeds at which
// the engine turns.
func withoutThreshold(r threshold.Result) string {
	rows, low := r.Table.Rows, r.Sensor.Options.CrankingLowRPM
	var runs []string
	for i := 0; i < len(rows); i++ {
		if rows[i].ThresholdV.Known {
			continue
		}
		first := rows[i].RPM
		for i+1 < len(rows) && !rows[i+1].ThresholdV.Known {
			i++
		}
		runs = append(runs, speedRange(max(first, low), max(rows[i].RPM, low)))
	}
	return strings.Join(runs, ", ")
}

func speedRange(fromRPM, toRPM float64) string {
	if from, to := rpmText(fromRPM), rpmText(toRPM); from != to {
		return from + " to " + to
	}
	return rpmText(fromRPM)
}

// worstText is the speed where a table is tightest, with its tenth right below a
// whole one, where a row is still held.
func worstText(rpm float64) string {
	if next := math.Ceil(rpm); next-rpm > 0 && next-rpm < 0.15 {
		return strconv.FormatFloat(rpm, 'f', 1, 64)
	}
	return rpmText(rpm)
}

// believed says why teeth have to pass a threshold at a speed too low to count
// any; "" where the worst speed is none.
func believed(r threshold.Result) string {
	w, window := r.Judgement.Decisive, r.Sensor.Window(r.Judgement.Decisive.RPM)
	switch {
	case window.Turning || w.SignalMargin.Or(window.SignalTarget) >= window.SignalTarget:
		return ""
	case w.RPM == 0:
		return ", which the input believes until the wheel has turned once,"
	}
	return ", which the input may believe while the wheel is spun up,"
}

// bothMargins gives the margins at the worst speed of the verdict beside what is
// wanted.
func bothMargins(r threshold.Result) string {
	w := r.Judgement.Decisive
	return fmt.Sprintf("at %s rpm%s %s", worstText(w.RPM), believed(r), marginsAt(r, w))
}

// marginsAt gives the margins at a speed beside what is wanted there.
func marginsAt(r threshold.Result, w threshold.Worst) string {
	window := r.Sensor.Window(w.RPM)
	var parts []string
	if w.SignalMargin.Known {
		parts = append(parts, fmt.Sprintf("the weakest tooth is %s × the threshold (want %s)", marginText(w.SignalMargin.Value), targetText(window.SignalTarget)))
	}
	if w.NoiseMargin.Known {
		parts = append(parts, fmt.Sprintf("the threshold is %s × the noise (want %s)", marginText(w.NoiseMargin.Value), targetText(window.NoiseTarget)))
	}
	return strings.Join(parts, " and ")
}
