package report

import (
	"bytes"
	"encoding/csv"
	"encoding/json"
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"
	"testing"

	"armcurve/captures"
	"armcurve/threshold"
)

// example is what one case of the tests below was measured as.
type example struct {
	readings []captures.Reading
	options  threshold.Options
}

func reading(rpm, peakV, weakestV, noiseV float64) captures.Reading {
	r := captures.Reading{Sensor: captures.Crank, RPM: rpm, Pos: captures.Pos{File: "r.csv", Line: int(rpm) + 2}}
	for _, m := range []struct {
		into *captures.Maybe
		v    float64
	}{{&r.PeakV, peakV}, {&r.WeakestV, weakestV}, {&r.NoiseV, noiseV}} {
		if m.v > 0 {
			*m.into = captures.Some(m.v)
		}
	}
	return r
}

// healthy is a sensor with all of it measured; the peaks times signal, the
// noise times noise.
func healthy(signal, noise float64) []captures.Reading {
	var list []captures.Reading
	for _, r := range [][4]float64{
		{0, 0, 0, 0.021}, {200, 0.56, 0.37, 0.034}, {850, 2.31, 2.05, 0.052}, {1500, 3.98, 3.54, 0.066},
		{2500, 6.29, 5.57, 0.09}, {4500, 9.83, 8.72, 0.149}, {6000, 11.6, 10.3, 0.196},
	} {
		list = append(list, reading(r[0], signal*r[1], signal*r[2], noise*r[3]))
	}
	return list
}

func examples(t *testing.T) map[string]example {
	wheel, err := captures.ParseWheel("36-1")
	if err != nil {
		t.Fatal(err)
	}
	full := threshold.DefaultOptions()
	full.Wheel, full.LimitRPM = wheel, captures.Some(6500)
	gaussian := healthy(1, 1)
	for i := range gaussian {
		gaussian[i].NoiseRMSV, gaussian[i].NoiseRateHz, gaussian[i].PeakSDV = captures.Some(0.008), captures.Some(9000), captures.Some(0.05)
	}
	stepped := full
	stepped.Input.StepV, stepped.Input.BetweenRows = 0.125, threshold.Step
	return map[string]example{
		"three peaks":       {[]captures.Reading{reading(800, 1.9, 0, 0), reading(2000, 4.6, 0, 0), reading(4500, 9.1, 0, 0)}, threshold.DefaultOptions()},
		"healthy":           {healthy(1, 1), full},
		"gaussian noise":    {gaussian, full},
		"noise over signal": {healthy(1, 12), full},
		"coarse steps":      {healthy(1, 1), stepped},
	}
}

// judged gives the document and the JSON of a proposed table, and of a given
// one that climbs too high.
func judged(t *testing.T, command string, e example) (Document, any) {
	t.Helper()
	r, err := threshold.Propose(e.readings, e.options)
	if command == "check" {
		r, err = threshold.Check(e.readings, highTable(), e.options)
	}
	if err != nil {
		t.Fatal(err)
	}
	results := []threshold.Result{r}
	return Judged(results, Context{}), JudgedJSON(command, results, Context{})
}

func highTable() threshold.Table {
	return threshold.NewTable([]threshold.Row{{RPM: 0, ThresholdV: captures.Some(0.2)}, {RPM: 200, ThresholdV: captures.Some(0.2)},
		{RPM: 7000, ThresholdV: captures.Some(10.5)}}, threshold.Linear)
}

func compared(t *testing.T, e example, old *threshold.Table) (Document, any) {
	t.Helper()
	wide := captures.Some(160)
	x, err := threshold.Compare(e.readings, healthy(0.75, 1), e.options, threshold.CompareOptions{Table: old, SameSensor: true, DiameterMM: wide})
	if err != nil {
		t.Fatal(err)
	}
	list := []threshold.Comparison{x}
	return Compared(list, Context{}), ComparedJSON(list, true, Context{})
}

// decoded is JSON as any reader of it sees it.
func decoded(t *testing.T, v any) map[string]any {
	t.Helper()
	var b bytes.Buffer
	if err := JSON(&b, v); err != nil {
		t.Fatal(err)
	}
	var tree map[string]any
	if err := json.Unmarshal(b.Bytes(), &tree); err != nil {
		t.Fatal(err)
	}
	return tree
}

// table is the CSV of a document, a map from column to cell for each row.
func table(t *testing.T, d Document) []map[string]string {
	t.Helper()
	var b bytes.Buffer
	if err := CSV(&b, d); err != nil {
		t.Fatal(err)
	}
	lines, err := csv.NewReader(&b).ReadAll()
	if err != nil || len(lines) < 2 {
		t.Fatalf("%d lines of CSV, %v", len(lines), err)
	}
	var rows []map[string]string
	for _, line := range lines[1:] {
		row := map[string]string{}
		for i, key := range lines[0] {
			row[key] = line[i]
		}
		rows = append(rows, row)
	}
	return rows
}

// at walks down a JSON tree: keys, and numbers for places in arrays.
func at(t *testing.T, tree any, path ...any) any {
	t.Helper()
	for _, step := range path {
		switch key := step.(type) {
		case string:
			object, _ := tree.(map[string]any)
			value, found := object[key]
			if !found {
				t.Fatalf("no key %q on the way %v", key, path)
			}
			tree = value
		case int:
			list, _ := tree.([]any)
			if key >= len(list) {
				t.Fatalf("%d of %d on the way %v", key, len(list), path)
			}
			tree = list[key]
		}
	}
	return tree
}

// same wants a CSV cell and a JSON value to say the same: an empty cell is
// null, a number is the same float.
func same(cell string, value any) bool {
	switch v := value.(type) {
	case nil:
		return cell == ""
	case float64:
		number, err := strconv.ParseFloat(cell, 64)
		return err == nil && number == v
	}
	return cell == fmt.Sprint(value)
}

// CSV that is read back says what JSON says, cell for cell.
func TestCSVAgreesWithJSON(t *testing.T) {
	for name, e := range examples(t) {
		for _, command := range []string{"propose", "check"} {
			d, j := judged(t, command, e)
			tree := decoded(t, j)
			for i, row := range table(t, d) {
				for key, cell := range row {
					if value := at(t, tree, "sensors", 0, "rows", i, key); !same(cell, value) {
						t.Errorf("%s, %s: row %d: %s is %q in CSV, %v in JSON", command, name, i, key, cell, value)
					}
				}
			}
		}
		old := highTable()
		d, j := compared(t, e, &old)
		tree := decoded(t, j)
		for i, row := range table(t, d) {
			for _, key := range []string{"rpm", "threshold_v", "signal_margin", "noise_margin", "verdict"} {
				if value := at(t, tree, "sensors", 0, "rescaled_rows", i, key); !same(row[key], value) {
					t.Errorf("compare, %s: row %d: %s is %q in CSV, %v in JSON", name, i, key, row[key], value)
				}
				if value := at(t, tree, "sensors", 0, "check", "rows", i, key); key != "rpm" && !same(row["old_"+strings.TrimPrefix(key, "threshold_")], value) {
					t.Errorf("compare, %s: row %d: the old %s is not %v", name, i, key, value)
				}
			}
		}
		d, j = compared(t, e, nil)
		tree = decoded(t, j)
		for i, row := range table(t, d) {
			for _, key := range []string{"rpm", "ratio", "low", "high"} {
				if value := at(t, tree, "sensors", 0, "ratio", "samples", i, key); !same(row[key], value) {
					t.Errorf("compare, %s: row %d: %s is %q in CSV, %v in JSON", name, i, key, row[key], value)
				}
			}
			ratio := number(t, row["after_v"]) / number(t, row["before_v"])
			if math.Abs(ratio/number(t, row["ratio"])-1) > 1e-9 {
				t.Errorf("compare, %s: row %d: the ratio of the peaks is %v, not %s", name, i, ratio, row["ratio"])
			}
		}
	}
}

func number(t *testing.T, cell string) float64 {
	t.Helper()
	v, err := strconv.ParseFloat(cell, 64)
	if err != nil {
		t.Fatal(err)
	}
	return v
}

// keysWanted are the keys of each command's JSON by their place; a number in a
// place stands for any entry of a list. More may be there.
var keysWanted = map[string][]string{
	"all":                       {"schema", "command", "verdict", "sensors", "findings", "assumptions", "read_as"},
	"finding":                   {"kind", "severity", "from_rpm", "to_rpm", "text", "advice"},
	"propose sensors":           {"sensor", "verdict", "curve", "rows", "worst", "findings"},
	"propose sensors curve":     {"model", "parameters", "corner_rpm", "lag_crank_deg", "measured_rpm", "samples"},
	"propose sensors samples":   {"rpm", "peak_v", "low_v", "high_v", "weakest_v", "noise_v", "extrapolated"},
	"propose sensors rows":      {"rpm", "threshold_v", "peak_v", "weakest_v", "noise_v", "noise_part", "signal_margin", "noise_margin", "verdict", "worst_rpm", "extrapolated", "false_per_hour", "missed_per_million"},
	"propose sensors worst":     {"rpm", "signal_margin", "noise_margin", "held_back_by"},
	"compare sensors":           {"sensor", "ratio", "gap_change_mm", "before", "after", "check", "rescaled_rows", "findings"},
	"compare sensors ratio":     {"overall", "low", "high", "falls_with_speed", "samples"},
	"compare sensors of ratios": {"rpm", "ratio", "low", "high"},
}

func wantKeys(t *testing.T, place string, object any) {
	t.Helper()
	tree, _ := object.(map[string]any)
	for _, key := range keysWanted[place] {
		if _, found := tree[key]; !found {
			t.Errorf("%s: no key %q", place, key)
		}
	}
	if len(keysWanted[place]) == 0 {
		t.Fatalf("no keys are wanted of %s", place)
	}
}

func TestJSONKeys(t *testing.T) {
	e := examples(t)["healthy"]
	for _, command := range []string{"propose", "check"} {
		_, j := judged(t, command, e)
		tree := decoded(t, j)
		sensor := at(t, tree, "sensors", 0)
		wantKeys(t, "all", tree)
		wantKeys(t, "propose sensors", sensor)
		wantKeys(t, "propose sensors curve", at(t, sensor, "curve"))
		wantKeys(t, "propose sensors samples", at(t, sensor, "curve", "samples", 0))
		wantKeys(t, "propose sensors rows", at(t, sensor, "rows", 0))
		wantKeys(t, "propose sensors worst", at(t, sensor, "worst"))
		wantKeys(t, "finding", at(t, sensor, "findings", 0))
		if tree["schema"] != 1. || tree["command"] != command {
			t.Errorf("schema %v of command %v", tree["schema"], tree["command"])
		}
		if low, high := at(t, sensor, "curve", "measured_rpm", 0), at(t, sensor, "curve", "measured_rpm", 1); low != 200. || high != 6000. {
			t.Errorf("measured from %v to %v rpm", low, high)
		}
	}
	old := highTable()
	_, j := compared(t, e, &old)
	sensor := at(t, decoded(t, j), "sensors", 0)
	wantKeys(t, "compare sensors", sensor)
	wantKeys(t, "compare sensors ratio", at(t, sensor, "ratio"))
	wantKeys(t, "compare sensors of ratios", at(t, sensor, "ratio", "samples", 0))
	wantKeys(t, "propose sensors curve", at(t, sensor, "before"))
	wantKeys(t, "propose sensors curve", at(t, sensor, "after"))
	wantKeys(t, "propose sensors", at(t, sensor, "check"))
	wantKeys(t, "propose sensors rows", at(t, sensor, "rescaled_rows", 0))

	// Without a table there is nothing to check and to rescale.
	_, j = compared(t, e, nil)
	tree := decoded(t, j)
	if check, rows := at(t, tree, "sensors", 0, "check"), at(t, tree, "sensors", 0, "rescaled_rows"); check != nil || len(rows.([]any)) != 0 {
		t.Errorf("check is %v, rescaled rows %v", check, rows)
	}
	if tree["verdict"] != "compared" {
		t.Errorf("verdict is %v", tree["verdict"])
	}
}

// Unknown is null, never 0: three peaks and no noise.
func TestUnknownIsNull(t *testing.T) {
	_, j := judged(t, "propose", examples(t)["three peaks"])
	sensor := at(t, decoded(t, j), "sensors", 0)
	for _, key := range []string{"noise_v", "noise_part", "noise_margin", "false_per_hour", "missed_per_million", "suggested_v"} {
		if value := at(t, sensor, "rows", 3, key); value != nil {
			t.Errorf("%s is %v", key, value)
		}
	}
	if value := at(t, sensor, "curve", "samples", 0, "noise_v"); value != nil {
		t.Errorf("noise_v of a sample is %v", value)
	}
	if value := at(t, sensor, "curve", "lag_crank_deg"); value != nil {
		t.Errorf("the lag without a wheel is %v", value)
	}
	// No threshold is null too, and lists are never null.
	_, j = judged(t, "propose", examples(t)["noise over signal"])
	if value := at(t, decoded(t, j), "sensors", 0, "rows", 2, "threshold_v"); value != nil {
		t.Errorf("a threshold where none is right: %v", value)
	}
	empty := decoded(t, JudgedJSON("propose", nil, Context{}))
	for _, key := range []string{"sensors", "findings", "assumptions", "read_as"} {
		if list, isList := empty[key].([]any); !isList || len(list) != 0 {
			t.Errorf("%s of nothing is %v; want an empty list", key, empty[key])
		}
	}
}

// The same results are rendered to the same bytes.
func TestSameBytes(t *testing.T) {
	for name, e := range examples(t) {
		var first, second string
		for _, all := range []*string{&first, &second} {
			d, j := judged(t, "check", e)
			var b bytes.Buffer
			for _, err := range []error{Text(&b, d, TextOptions{Wide: true}), Markdown(&b, d), CSV(&b, d), JSON(&b, j)} {
				if err != nil {
					t.Fatal(err)
				}
			}
			*all = b.String()
		}
		if first != second {
			t.Errorf("%s: the second time it is another", name)
		}
		if strings.ContainsRune(first, '\x1b') {
			t.Errorf("%s: there is an escape sequence in it", name)
		}
	}
}

// What a table says and what its sentence says is the same verdict, the worst
// of its rows.
func TestVerdictIsTheWorst(t *testing.T) {
	order := []string{"clear", "unproven", "thin", "fails"}
	for name, e := range examples(t) {
		for _, command := range []string{"propose", "check"} {
			d, j := judged(t, command, e)
			worst := 0
			for _, row := range table(t, d) {
				worst = max(worst, slices.Index(order, row["verdict"]))
			}
			tree := decoded(t, j)
			if tree["verdict"] != order[worst] || !strings.Contains(d.Sentence, order[worst]) {
				t.Errorf("%s, %s: rows are at worst %s, the JSON says %v, the sentence %q", command, name, order[worst], tree["verdict"], d.Sentence)
			}
		}
	}
}
