package report

import (
	"bytes"
	"encoding/json"
	"html"
	"maps"
	"math"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"sync"
	"testing"

	"armcurve/captures"
	"armcurve/threshold"
)

func pageOf(t *testing.T, documents ...Document) string {
	t.Helper()
	var b bytes.Buffer
	if err := Page(&b, "1.2.3", documents...); err != nil {
		t.Fatal(err)
	}
	return b.String()
}

var once struct {
	sync.Once
	judged map[string]threshold.Result
}

// judgedExamples are the results that the examples give, by name.
func judgedExamples(t *testing.T) map[string]threshold.Result {
	t.Helper()
	once.Do(func() {
		once.judged = map[string]threshold.Result{}
		for name, e := range examples(t) {
			once.judged[name] = proposed(t, e)
		}
	})
	return once.judged
}

func proposed(t *testing.T, e example) threshold.Result {
	t.Helper()
	r, err := threshold.Propose(e.readings, e.options)
	if err != nil {
		t.Fatal(err)
	}
	return r
}

// tablesOf reads the tables of a part of a page back, each cell as exactly as
// the page has it.
func tablesOf(part string) [][][]string {
	var tables [][][]string
	for _, table := range regexp.MustCompile(`(?s)<tbody>.*?</tbody>`).FindAllString(part, -1) {
		var rows [][]string
		for _, row := range regexp.MustCompile(`<tr>.*?</tr>`).FindAllString(table, -1) {
			var cells []string
			for _, cell := range regexp.MustCompile(`<td[^>]*>(?:<data value="([^"]*)">)?(.*?)(?:</data>)?</td>`).FindAllStringSubmatch(row, -1) {
				if cell[1] != "" {
					cell[2] = cell[1]
				}
				cells = append(cells, html.UnescapeString(cell[2]))
			}
			rows = append(rows, cells)
		}
		tables = append(tables, rows)
	}
	return tables
}

// figureOf is the part of a page that is one picture.
func figureOf(t *testing.T, page, name string) string {
	t.Helper()
	_, rest, found := strings.Cut(page, `<figure id="part1-1-`+name+`">`)
	if !found {
		t.Fatalf("no picture %s", name)
	}
	figure, _, _ := strings.Cut(rest, "</figure>")
	return figure
}

// exactOf is a number as JSON has it, "–" for null.
func exactOf(v any) string {
	if v == nil {
		return unknown
	}
	return exactly(v.(float64))
}

// Every number behind the pictures of a table is in the JSON, to the last bit.
func TestPageAgreesWithJSON(t *testing.T) {
	for name, r := range judgedExamples(t) {
		page := pageOf(t, Judged([]threshold.Result{r}, Context{}))
		var b bytes.Buffer
		if err := JSON(&b, JudgedJSON("propose", []threshold.Result{r}, Context{})); err != nil {
			t.Fatal(err)
		}
		var read struct {
			Sensors []struct {
				Curve   struct{ Samples []map[string]any }
				Margins []map[string]any
			}
		}
		if err := json.Unmarshal(b.Bytes(), &read); err != nil {
			t.Fatal(err)
		}
		sensor := read.Sensors[0]
		amplitude := tablesOf(figureOf(t, page, "amplitude"))
		thresholds := map[string]string{}
		for _, m := range sensor.Margins {
			thresholds[exactOf(m["rpm"])] = exactOf(m["threshold_v"])
		}
		for i, s := range sensor.Curve.Samples {
			want := []string{exactOf(s["rpm"]), thresholds[exactOf(s["rpm"])], exactOf(s["weakest_v"]), exactOf(s["noise_v"]), exactOf(s["peak_v"]), exactOf(s["low_v"]), exactOf(s["high_v"])}
			if got := amplitude[0][i+1][:7]; !slices.Equal(got, want) {
				t.Errorf("%s: the picture has %v, the JSON %v", name, got, want)
			}
			if len(amplitude) < 2 {
				continue
			}
			parts := s["noise_parts"].(map[string]any)
			for _, got := range amplitude[1][i][1:] {
				if v, err := strconv.ParseFloat(got, 64); err != nil || !slices.Contains(slices.Collect(maps.Values(parts)), any(v)) {
					t.Errorf("%s: a part of the noise is %s, the JSON has %v", name, got, parts)
				}
			}
		}
		for i, m := range sensor.Margins {
			want := []string{exactOf(m["rpm"]), exactOf(m["threshold_v"]), exactOf(m["signal_margin"]), exactOf(m["signal_target"]), exactOf(m["noise_margin"]), exactOf(m["noise_target"])}
			if got := tablesOf(figureOf(t, page, "margins"))[0][i]; !slices.Equal(got, want) {
				t.Errorf("%s: the picture has %v, the JSON %v", name, got, want)
			}
		}
	}
}

// The readings on the page are enough to compute the result again: read back
// they are the same.
func TestPageHoldsTheReadings(t *testing.T) {
	for name, r := range judgedExamples(t) {
		_, inputs, _ := strings.Cut(pageOf(t, Judged([]threshold.Result{r}, Context{ReadAs: []string{"r.csv"}})), `<section class="inputs">`)
		rows := tablesOf(inputs)[0]
		used := r.Sensor.Readings()
		if len(rows) != len(used) {
			t.Fatalf("%s: %d readings on the page, want %d", name, len(rows), len(used))
		}
		for i, u := range used {
			want := []string{exactly(u.RPM), "", u.Pos.String(), u.Use.String()}
			if u.PeakV.Known {
				want[1] = exactly(u.PeakV.Value)
			}
			if n := len(rows[i]); rows[i][0] != want[0] || rows[i][1] != want[1] || rows[i][n-2] != want[2] || rows[i][n-1] != want[3] {
				t.Errorf("%s: %v on the page, want %v", name, rows[i], want)
			}
		}
	}
}

// The digests in the policy are those of what stands in the page: else no
// browser would use it.
func TestPolicyNamesStyleAndScript(t *testing.T) {
	page := pageOf(t, twoSensors())
	policy := html.UnescapeString(regexp.MustCompile(`Content-Security-Policy" content="([^"]*)"`).FindStringSubmatch(page)[1])
	for element, directive := range map[string]string{"style": "style-src", "script": "script-src"} {
		found := regexp.MustCompile(`(?s)<`+element+`>(.*?)</`+element+`>`).FindAllStringSubmatch(page, -1)
		if len(found) != 1 || !strings.Contains(policy, directive+" "+digest(found[0][1])) {
			t.Errorf("%d elements %s, and the policy is %q", len(found), element, policy)
		}
	}
	if !strings.HasPrefix(policy, "default-src 'none'; ") {
		t.Errorf("the policy is %q", policy)
	}
	own := strings.ReplaceAll(page, `xmlns="http://www.w3.org/2000/svg"`, "")
	own = strings.ReplaceAll(own, `const svgNS = "http://www.w3.org/2000/svg"`, "")
	for _, no := range []string{" style=", " onclick=", "http:", "https:", "<img", "<link", "@import", " src="} {
		if strings.Contains(own, no) {
			t.Errorf("the page has %q", no)
		}
	}
}

// Whatever a text holds, it stays text.
func TestPageTextsAreInert(t *testing.T) {
	const nasty = `<b>&"x'</title></script><script>alert(1)</script>`
	cell := word(nasty)
	table := Table{Title: nasty, Note: nasty, Columns: []Column{{Head: nasty, Key: nasty, Left: true}}, Rows: [][]Cell{{cell}}}
	for range sideBySide {
		table.Columns, table.Rows[0] = append(table.Columns, table.Columns[0]), append(table.Rows[0], cell)
	}
	finding := captures.Finding{Text: nasty, Advice: nasty}
	chart := Chart{
		Name: "chart", Title: nasty, Caption: nasty, X: Axis{Label: nasty}, Y: Axis{Label: nasty},
		Lines: []Line{{Label: nasty, Stroke: Firm, Points: []Point{{1, 1}, {2, 2}}}},
		Rules: []Rule{{Label: nasty, At: 1.5}},
		Dots:  []Dots{{Label: nasty, Mark: Disc, At: []Dot{{X: 1, Y: 1, Text: nasty}}}}, Numbers: []Table{table},
	}
	page := pageOf(t, Document{
		Setup: nasty, Sentence: nasty, First: nasty, Command: nasty, SetupText: nasty, Caution: nasty,
		Sections: []Section{{Title: nasty, ToType: &table, Charts: Drawn(chart), Tables: []Table{table}, Notes: []string{nasty}, Findings: []captures.Finding{finding}}},
		Findings: []captures.Finding{finding}, Assumed: []string{nasty + " (--" + nasty + ")"}, Defaults: []string{nasty}, ReadAs: []string{nasty}, Inputs: []func() Table{func() Table { return table }},
	})
	for _, live := range []string{"<b>", "<script>alert", `"x'`} {
		if strings.Contains(page, live) {
			t.Errorf("%q is live on the page", live)
		}
	}
	var b bytes.Buffer
	if err := Picture(&b, chart); err != nil || strings.Contains(b.String(), "<b>") {
		t.Errorf("live in the picture, or %v", err)
	}
}

// Every caution stands on every page, and what to do first.
func TestPageOrder(t *testing.T) {
	for name, r := range judgedExamples(t) {
		page := pageOf(t, Judged([]threshold.Result{r}, Context{
			Setup: "setup from armcurve.toml", SetupText: "[crank]\nwheel = \"36-1\"\n", Command: "armcurve propose r.csv",
			Assumed: []string{"one reading scatters (--reading-scatter)"}, ReadAs: []string{"r.csv: readings"},
		}))
		at := -1
		for _, part := range []string{"<h1>", "First:", `<figure id="part1-1-amplitude">`, `<figure id="part1-1-margins">`, "Assumed</h2>", "Read as</h2>", "[crank]", "armcurve propose r.csv</pre>", "Before cranking", "armcurve 1.2.3"} {
			next := strings.LastIndex(page, part)
			if next <= at {
				t.Errorf("%s: %q at %d, what comes before it at %d", name, part, next, at)
			}
			at = next
		}
		for _, group := range cautions {
			for _, line := range group.Lines {
				if !strings.Contains(html.UnescapeString(page), line) {
					t.Errorf("%s: %q is missing", name, line)
				}
			}
		}
	}
}

func TestPageIsTheSameEachTime(t *testing.T) {
	e := examples(t)["gaussian noise"]
	r, again := proposed(t, e), proposed(t, e)
	if pageOf(t, Judged([]threshold.Result{r}, Context{})) != pageOf(t, Judged([]threshold.Result{again}, Context{})) {
		t.Error("the page differs from one time to the next")
	}
}

func TestWhatToTypeIn(t *testing.T) {
	c, typed := Column{Head: "rpm", Key: "rpm"}, Column{Head: "threshold V", Key: "threshold_v"}
	table := Table{Columns: []Column{c, typed}, Rows: [][]Cell{{{"0", "0"}, {"0.10", "0.1"}}, {{"188", "187.5"}, {"4.00", "4"}}}}
	if got, want := tabSeparated(table), "rpm\tthreshold_v\n0\t0.10\n187.5\t4.00\n"; got != want {
		t.Errorf("%q, want %q", got, want)
	}
}

// A first step is one sentence, whatever the result.
func TestFirstStep(t *testing.T) {
	for name, r := range judgedExamples(t) {
		first := Judged([]threshold.Result{r}, Context{}).First
		if first == "" || !strings.HasSuffix(first, ".") || first[:1] != strings.ToUpper(first[:1]) {
			t.Errorf("%s: %q is no sentence", name, first)
		}
	}
}

// split loses no stretch of a line and draws none twice.
func TestSplit(t *testing.T) {
	l := Line{Label: "a", Stroke: Firm}
	for i := range 10 {
		l.Points = append(l.Points, Point{float64(i), 1})
	}
	drawn := map[[2]float64]int{}
	for _, part := range split(l, func(x float64) bool { return x < 2 || x > 7 }) {
		for i := 1; i < len(part.Points); i++ {
			a, b := part.Points[i-1], part.Points[i]
			if !math.IsNaN(a.Y) && !math.IsNaN(b.Y) {
				drawn[[2]float64{a.X, b.X}]++
			}
		}
	}
	if len(drawn) != 9 {
		t.Errorf("%v is drawn, want nine stretches once each", drawn)
	}
	for stretch, times := range drawn {
		if times != 1 || stretch[1] != stretch[0]+1 {
			t.Errorf("%v is drawn %d times", stretch, times)
		}
	}
}
