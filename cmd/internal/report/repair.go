package report

import (
	"fmt"
	"math"

	"armcurve/captures"
	"armcurve/threshold"
)

// repairTable shows what a repair changes, row by row. Its exact columns are a
// table for the controller.
func repairTable(r threshold.Result, severalSensors bool) Table {
	t := Table{Title: repairTitle(r), Data: true, Columns: []Column{
		{Head: "rpm", Key: "rpm"},
		{Head: "was V", Key: "was_v"},
		{Head: "now V", Key: "threshold_v"},
		{Head: "change V", Key: "change_v"},
	}}
	if severalSensors {
		t.Columns = append(t.Columns, Column{Head: "sensor", Key: "sensor", Wide: true, Left: true})
	}
	stepV := r.Sensor.Options.Input.StepV
	for i, now := range r.Repair.Table.Rows {
		was := r.Table.Rows[i].ThresholdV
		row := []Cell{rpmCell(now.RPM), thresholdCell(was, stepV), thresholdCell(now.ThresholdV, stepV), changeCell(was, now.ThresholdV, stepV)}
		if severalSensors {
			row = append(row, word(r.Sensor.Name))
		}
		t.Rows = append(t.Rows, row)
	}
	return t
}

// changeCell is the difference, with its sign; nothing where there is none.
func changeCell(was, now captures.Maybe, stepV float64) Cell {
	if was == now || !was.Known || !now.Known {
		return Cell{Text: unknown}
	}
	change := thresholdV(captures.Some(now.Value - was.Value)).Value
	return Cell{fmt.Sprintf("%+.*f", decimalsOf(stepV), change), exactly(change)}
}

// repairTitle says how much a repair changes and what it leads to.
func repairTitle(r threshold.Result) string {
	changed, all := len(r.Repair.Changes), len(r.Repair.Table.Rows)
	verdict := r.Repair.Judgement.Verdict
	switch {
	case changed > 0 && verdict == threshold.Clear:
		return fmt.Sprintf("repair: %d of %d rows change, and the table is clear", changed, all)
	case changed > 0:
		return fmt.Sprintf("repair: %d of %d rows change; no change does better, and the table is %s still", changed, all, verdict)
	case verdict == threshold.Clear:
		return "repair: nothing to change"
	}
	return "repair: no change of thresholds in these rows does better"
}

// RepairJSON is the smallest change that mends a table.
type RepairJSON struct {
	Verdict string          `json:"verdict"`
	Score   captures.Maybe  `json:"score"`
	Rows    []RepairRowJSON `json:"rows"`
}

// RepairRowJSON is one row of a repaired table.
type RepairRowJSON struct {
	RPM     float64        `json:"rpm"`
	WasV    captures.Maybe `json:"was_v"`
	NowV    captures.Maybe `json:"now_v"`
	Changed bool           `json:"changed"`
}

func repairJSON(r threshold.Result) *RepairJSON {
	if r.Repair == nil {
		return nil
	}
	j := r.Repair.Judgement
	out := &RepairJSON{Verdict: j.Verdict.String(), Rows: []RepairRowJSON{}}
	if !math.IsInf(j.Worst.Score, 1) {
		out.Score = captures.Some(j.Worst.Score)
	}
	for i, now := range r.Repair.Table.Rows {
		was := r.Table.Rows[i].ThresholdV
		out.Rows = append(out.Rows, RepairRowJSON{now.RPM, thresholdV(was), thresholdV(now.ThresholdV), was != now.ThresholdV})
	}
	return out
}
