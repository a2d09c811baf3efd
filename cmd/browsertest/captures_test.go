package browsertest

import (
	"encoding/json"
	"path/filepath"
	"strconv"
	"strings"
	"testing"
)

// told is what these tests read of the JSON of measure and investigate.
type told struct {
	Captures []struct {
		Heights []map[string]any `json:"tooth_heights"`
		Teeth   []map[string]any `json:"tooth_list"`
		Events  []map[string]any `json:"events"`
		Causes  []struct {
			Evidence string `json:"evidence"`
		} `json:"causes"`
	} `json:"captures"`
}

// pageAnd is the page with a name, and what the program says in JSON in the folder
// of a scenario.
func pageAnd(t *testing.T, name, scenario string, args ...string) (page, told) {
	t.Helper()
	var r told
	text := armcurve(t, filepath.Join(filepath.Dir(pages(t)[0].file), scenario), append(args, "--format", "json")...)
	if err := json.Unmarshal([]byte(text), &r); err != nil {
		t.Fatal(err)
	}
	for _, p := range pages(t) {
		if p.name == name {
			return p, r
		}
	}
	t.Fatalf("no page %s", name)
	return page{}, r
}

// near finds what has a number that a page shows, rounded, under a key.
func near(list []map[string]any, key, shown string) map[string]any {
	for _, x := range list {
		if agrees(shown, x[key]) {
			return x
		}
	}
	return nil
}

// Pointing at the pictures of a capture gives what the JSON has.
func TestReadOutOfCaptures(t *testing.T) {
	p, told := pageAnd(t, "measure", "ignition-spikes", "measure", "pull.csv", "--teeth")
	b := open(t, p.file, 1000, 900)
	for _, share := range []float64{0.2, 0.4, 0.6, 0.8} {
		shown := readOut(b.pointAt("part1-2-teeth", share))
		tooth := near(told.Captures[0].Heights, "tooth", shown["tooth"])
		if tooth == nil || !agrees(shown["of the mean"], tooth["of_mean"]) {
			t.Errorf("teeth: %v on the page, %v in the JSON", shown, tooth)
		}
		shown = readOut(b.pointAt("part1-2-speed", share))
		tooth = near(told.Captures[0].Teeth, "t_s", shown["t s"])
		if tooth == nil || !agrees(shown["rpm"], tooth["rpm"]) {
			t.Errorf("speed: %v on the page, %v in the JSON", shown, tooth)
		}
		for _, figure := range []string{"part1-2-weakest", "part1-2-record"} {
			if shown := readOut(b.pointAt(figure, share)); len(shown) < 2 {
				t.Errorf("%s reads %v", figure, shown)
			}
		}
	}
	b.quiet()

	p, told = pageAnd(t, "investigate", "ignition-spikes", "investigate", "--table", "crank_table.csv", "pull.csv", "--events")
	b = open(t, p.file, 1000, 900)
	shown := readOut(b.pointAt("part1-3-angle", 0.9))
	event := near(told.Captures[0].Events, "crank_deg", shown["crank deg"])
	if event == nil || !agrees(shown["rpm"], near(told.Captures[0].Events, "rpm", shown["rpm"])["rpm"]) {
		t.Errorf("angle: %v on the page, %v in the JSON", shown, event)
	}
	first := told.Captures[0].Events[0]
	caption := ask[string](b, `document.querySelector("#part1-3-cause1 figcaption").textContent`)
	for _, wanted := range []string{strconv.FormatFloat(first["rpm"].(float64), 'f', 0, 64) + " rpm", strconv.FormatFloat(first["signal_v"].(float64), 'f', 2, 64) + " V"} {
		if !strings.Contains(caption, wanted) {
			t.Errorf("%q is without %q", caption, wanted)
		}
	}
	if text := ask[string](b, `document.body.textContent`); !strings.Contains(text, told.Captures[0].Causes[0].Evidence) {
		t.Error("the evidence of the cause is not on the page")
	}
	b.quiet()
}

// Marks and numbers of teeth stay with the wave when it is looked at closer.
func TestZoomOfAFault(t *testing.T) {
	p, _ := pageAnd(t, "missed", "short-tooth", "investigate", "--table", "crank_table.csv", "pull.csv")
	b := open(t, p.file, 1000, 900)
	const places = `Array.from(document.querySelectorAll("#part1-3-cause1 .note.middle"), (e) => [Number(e.textContent), Number(e.getAttribute("x"))])`
	before := ask[[][]float64](b, places)
	ask[string](b, `(() => { Array.from(document.querySelectorAll("#part1-3-cause1 button")).find((b) => b.textContent === "closer").click(); return "" })()`)
	after := ask[[][]float64](b, places)
	if len(before) < 7 || len(after) != len(before) {
		t.Fatalf("%d teeth are numbered, %d closer", len(before), len(after))
	}
	for i := 1; i < len(before); i++ {
		if ratio := (after[i][1] - after[i-1][1]) / (before[i][1] - before[i-1][1]); ratio < 1.98 || ratio > 2.02 {
			t.Errorf("from tooth %v to %v it is %v times as far", before[i-1][0], before[i][0], ratio)
		}
	}
	b.quiet()
}
