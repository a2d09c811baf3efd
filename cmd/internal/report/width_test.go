package report

import (
	"bytes"
	"fmt"
	"math"
	"math/rand/v2"
	"strings"
	"testing"
	"unicode/utf8"

	"armcurve/captures"
	"armcurve/threshold"
)

// wantNarrow wants every line of the text to fit the screen, and no spaces at
// the ends of lines.
func wantNarrow(t *testing.T, d Document, o TextOptions) {
	t.Helper()
	var b bytes.Buffer
	if err := Text(&b, d, o); err != nil {
		t.Fatal(err)
	}
	for line := range strings.Lines(b.String()) {
		line = strings.TrimSuffix(line, "\n")
		if n := utf8.RuneCountInString(line); n > screenWidth && !o.Wide || strings.HasSuffix(line, " ") {
			t.Fatalf("a line of %d characters:\n%s", n, line)
		}
	}
}

// Whatever the words, as long as none is longer than what is left of a line.
func TestTextFitsTheScreen(t *testing.T) {
	random := rand.New(rand.NewPCG(1, 2))
	text := func(words int) string {
		var list []string
		for range random.IntN(words) + 1 {
			list = append(list, strings.Repeat("a", random.IntN(40)+1), "×"+strings.Repeat("é", random.IntN(20)))
		}
		return strings.Join(list, strings.Repeat(" ", 1+random.IntN(2)))
	}
	texts := func() (list []string) {
		for range random.IntN(4) {
			list = append(list, text(12))
		}
		return list
	}
	findings := func() (list []captures.Finding) {
		for range random.IntN(4) {
			list = append(list, captures.Finding{Severity: captures.Severity(random.IntN(3)), Text: text(15), Advice: text(15)})
		}
		return list
	}
	for range 300 {
		d := Document{Setup: text(3), Sentence: text(30), Assumed: texts(), Defaults: texts(), ReadAs: texts(), Findings: findings(), Caution: text(20)}
		for range random.IntN(3) {
			d.Sections = append(d.Sections, Section{Title: text(1), Notes: texts(), Findings: findings()})
		}
		wantNarrow(t, d, TextOptions{})
		wantNarrow(t, d, TextOptions{Wide: true})
	}
}

// Tables fit too, for signals and noises of every size, inputs of every step
// and limits of every engine.
func TestTablesFitTheScreen(t *testing.T) {
	random := rand.New(rand.NewPCG(3, 4))
	draws := 25
	if testing.Short() {
		draws = 8
	}
	for range draws {
		o := threshold.DefaultOptions()
		o.Input.StepV = []float64{0.0001, 0.01, 0.025, 1}[random.IntN(4)]
		o.LimitRPM = captures.Some([]float64{6500, 12000, 30000}[random.IntN(3)])
		signal, noise := math.Pow(10, 3*random.Float64()-1.2), math.Pow(10, 3*random.Float64()-1.2)
		readings := healthy(signal, noise*float64(random.IntN(2)))
		r, err := threshold.Propose(readings, o)
		if err != nil {
			t.Fatal(err)
		}
		wantNarrow(t, Judged([]threshold.Result{r}, Context{}), TextOptions{})
		old := threshold.NewTable([]threshold.Row{{RPM: 0, ThresholdV: captures.Some(signal / 50)}, {RPM: 9000, ThresholdV: captures.Some(signal * 8)}}, threshold.Linear)
		if r, err = threshold.Check(readings, old, o); err != nil {
			t.Fatal(err)
		}
		wantNarrow(t, Judged([]threshold.Result{r}, Context{}), TextOptions{})
		wantNarrow(t, Judged([]threshold.Result{r}, Context{}), TextOptions{Wide: true})
		old = threshold.NewTable([]threshold.Row{{RPM: 0, ThresholdV: captures.Some(0.2)}, {RPM: 9000, ThresholdV: captures.Some(8)}}, threshold.Linear)
		x, err := threshold.Compare(healthy(1, 1), readings, o, threshold.CompareOptions{Table: &old})
		if err != nil {
			t.Fatal(err)
		}
		wantNarrow(t, Compared([]threshold.Comparison{x}, Context{}), TextOptions{})
	}
}

// Words stay whole and in order, whatever the width.
func TestWrap(t *testing.T) {
	text := "a bb ccc dddd eeeee ffffff " + strings.Repeat("g", 30) + " h"
	for width := 1; width < 40; width++ {
		lines := Wrap(text, width)
		if strings.Join(lines, " ") != text {
			t.Errorf("in %d columns: %q", width, lines)
		}
		for _, line := range lines {
			if len(line) > width && strings.Contains(line, " ") {
				t.Errorf("in %d columns: %q", width, line)
			}
		}
	}
	if got := fmt.Sprintf("%q", Wrap("", 10)); got != `[""]` {
		t.Errorf("nothing wraps to %s", got)
	}
}
