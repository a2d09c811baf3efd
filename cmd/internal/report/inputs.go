package report

import (
	"slices"
	"strconv"

	"armcurve/captures"
	"armcurve/captures/csvfile"
	"armcurve/threshold"
)

// usedTable makes the table of the readings of one sensor, to the last digit, and
// what became of each.
func usedTable(sensor *threshold.Sensor, when string) func() Table {
	return func() Table { return tableOfUsed("readings of the "+sensor.Name+" sensor"+when, sensor.Readings()) }
}

func tableOfUsed(title string, used []threshold.UsedReading) Table {
	readings := make([]captures.Reading, len(used))
	for i, u := range used {
		readings[i] = u.Reading
	}
	t := inputTable(title, readings)
	t.Columns = append(t.Columns, Column{Head: "used", Key: "used", Left: true})
	for i, u := range used {
		t.Rows[i] = append(t.Rows[i], word(u.Use.String()))
	}
	return t
}

// inputTable has the columns that a file of such readings has, and where each
// was read.
func inputTable(title string, readings []captures.Reading) Table {
	cells := csvfile.Cells(readings)
	t := Table{Title: title}
	texts := []string{"sensor", "condition", "wheel", "clipped", "note"}
	for _, key := range cells[0] {
		t.Columns = append(t.Columns, Column{Head: key, Key: key, Left: slices.Contains(texts, key)})
	}
	t.Columns = append(t.Columns, Column{Head: "from", Key: "from", Left: true})
	for i, row := range cells[1:] {
		var line []Cell
		for _, text := range row {
			line = append(line, shortened(text))
		}
		t.Rows = append(t.Rows, append(line, word(readings[i].Pos.String())))
	}
	return t
}

// longNumber is how many characters of a number are too many to read.
const longNumber = 8

// shortened is a number with fewer digits for people, where it has very many.
func shortened(text string) Cell {
	v, err := strconv.ParseFloat(text, 64)
	if err != nil || len(text) <= longNumber {
		return word(text)
	}
	return Cell{brief(v, 5).Text, text}
}

// toType is a table to type into the controller.
func toType(title string, t threshold.Table, stepV float64, note string) *Table {
	list := Table{Title: title, Note: note, Columns: []Column{{Head: "rpm", Key: "rpm"}, {Head: "threshold V", Key: "threshold_v"}}}
	for _, row := range t.Rows {
		list.Rows = append(list.Rows, []Cell{rpmCell(row.RPM), thresholdCell(row.ThresholdV, stepV)})
	}
	return &list
}

// between says what holds between the rows of a table.
func between(t threshold.Table) string {
	if t.BetweenRows == threshold.Step {
		return "each row holds up to the next"
	}
	return "straight lines between rows, flat beyond them"
}

// tableToType is the table that a judged one leaves to type in: the proposed,
// or, where a given one can be bettered, the repaired or the better. None where
// a row would be without a threshold.
func tableToType(r threshold.Result) *Table {
	title, t, note := "To type in: the "+r.Sensor.Name+" table", r.Table, capital(r.Judgement.Verdict.String())+"; "+between(r.Table)
	switch {
	case r.Suggested == nil && r.Judgement.Verdict == threshold.Fails:
		title = "The best " + r.Sensor.Name + " table for these readings, which fails"
	case r.Suggested != nil && r.Judgement.Verdict <= threshold.Unproven:
		return nil
	case r.Repair != nil:
		title, t, note = "To type in: the repaired "+r.Sensor.Name+" table", r.Repair.Table, capital(r.Repair.Judgement.Verdict.String())+"; "+between(r.Table)
	case r.Suggested != nil:
		title, t, note = "To type in: a better "+r.Sensor.Name+" table at the same speeds", *r.Suggested, capital(between(*r.Suggested))
	}
	if slices.ContainsFunc(t.Rows, func(row threshold.Row) bool { return !row.ThresholdV.Known }) {
		return nil
	}
	return toType(title, t, r.Sensor.Options.Input.StepV, note+". "+caution)
}

// tableAfter is the table to type in after a change: nothing where the old one
// does, the old one times the ratio where that is clear, else a better one.
func tableAfter(x threshold.Comparison) *Table {
	switch {
	case x.Check == nil || x.Check.Judgement.Verdict <= threshold.Unproven:
		return nil
	case x.Rescaled.Judgement.Verdict == threshold.Clear:
		return toType("To type in: the old "+x.After.Name+" table, rescaled", x.Rescaled.Table, x.After.Options.Input.StepV, "Clear; "+between(x.Rescaled.Table)+". "+caution)
	}
	return tableToType(*x.Check)
}

// firstStep is the advice of the worst finding, if that is more than a note;
// else what is left to do. Where a given table's thresholds are what is wrong,
// typing in better ones comes first.
func firstStep(d Document, given bool, otherwise string) string {
	better := given && slices.ContainsFunc(d.Sections, func(s Section) bool { return s.ToType != nil })
	for _, f := range allFindings(d) {
		switch {
		case f.Severity == captures.Note || f.Advice == "":
		case better && (f.Kind == threshold.ThinSignal || f.Kind == threshold.ThinNoise):
			return typeIn
		default:
			return capital(f.Advice) + "."
		}
	}
	return otherwise
}

const typeIn = "Type the table below in, then check the base timing before load."

const leaveIt = "Leave the table as it is."

// firstOfJudged is what to do first about a table, proposed or given.
func firstOfJudged(d Document, results []threshold.Result) string {
	if len(results) > 0 && results[0].Suggested != nil {
		return firstStep(d, true, leaveIt)
	}
	return firstStep(d, false, typeIn)
}

// firstOfCompared is what to do first about a change.
func firstOfCompared(d Document, comparisons []threshold.Comparison) string {
	if len(comparisons) > 0 && comparisons[0].Check != nil {
		return firstStep(d, true, leaveIt)
	}
	return firstStep(d, false, "Hold the table in the controller against the readings after: armcurve check.")
}
