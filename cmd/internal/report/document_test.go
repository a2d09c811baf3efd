package report

import (
	"bytes"
	"flag"
	"io"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"armcurve/captures"
)

var update = flag.Bool("update", false, "write what documents are rendered as into testdata")

// twoSensors is a document with everything in it, and with texts that formats
// could take for something of their own.
func twoSensors() Document {
	volts := Column{Head: "peak mV", Key: "peak_mv"}
	return Document{
		Setup:    "setup from <jobs>|a_b.toml",
		Sentence: "The crank table is thin; the cam table is clear.",
		Sections: []Section{{
			Title: "crank",
			Tables: []Table{{
				Data: true,
				Columns: []Column{
					{Head: "rpm", Key: "rpm"}, volts, {Head: "95 % CI", Key: "ci"}, {Head: "µV/krpm", Key: "uv_per_krpm", Wide: true},
					{Head: "verdict", Key: "verdict", Left: true},
				},
				Rows: [][]Cell{
					{{"0", "0"}, {"–", ""}, {"0.40", "0.4"}, {"2.50", "2.5"}, word("thin")},
					{{"6500", "6500"}, {"11600", "11600.25"}, {"–", ""}, {"1", "1"}, word("a|b <c> *d*")},
				},
			}, {
				Title: "not data", Columns: []Column{volts}, Rows: [][]Cell{{{"1", "1"}}},
			}},
			Notes: []string{"amplitude: roll-off; " + strings.Repeat("long ", 20) + "note"},
			Findings: []captures.Finding{
				{Kind: "extrapolated", Severity: captures.Note, Text: "said of both", Advice: "measure more"},
				{Kind: "thin-signal", Severity: captures.Warning, Text: "the weakest tooth is only 1.02 × the threshold at 6500 rpm (want 2.00)",
					Advice: "change 10.5 V at 7000 rpm to 4.12 V"},
			},
		}, {
			Title: "cam",
			Tables: []Table{{
				Data:    true,
				Columns: []Column{{Head: "rpm", Key: "rpm"}, volts, {Head: "95 % CI", Key: "ci"}, {Head: "µV/krpm", Key: "uv_per_krpm"}, {Head: "verdict", Key: "verdict", Left: true}},
				Rows:    [][]Cell{{{"200", "200"}, {"1", "1"}, {"2", "2"}, {"3", "3"}, word("clear")}},
			}},
			Findings: []captures.Finding{
				{Kind: "extrapolated", Severity: captures.Note, Text: "said of both", Advice: "measure more"},
				{Kind: "outlier", Severity: captures.Warning, Text: "weird & <b>bold</b>.csv:6 reads 9.4 V"},
			},
		}},
		Findings: []captures.Finding{{Kind: "no-window", Severity: captures.Problem, Text: "of the files, and worst"},
			{Kind: "duplicate", Severity: captures.Note, Text: "sixth"}},
		Assumed: []string{"a hump of 0.12 of the peak (--gap-hump)"},
		Defaults: []string{"8 rows (--rows)", "8 rows (--rows with --sensor cam)",
			"a_word_that_is_longer_than_the_screen_and_so_cannot_be_broken_anywhere_at_all_by_the_writer (--nothing)"},
		ReadAs:  []string{"a|b.csv: readings, 8 lines"},
		Caution: "Check the base timing.",
	}
}

// oneSensor is the least a document can be.
func oneSensor() Document {
	return Document{
		Sentence: "The crank table is clear.",
		Sections: []Section{{
			Tables: []Table{{Data: true, Columns: []Column{{Head: "rpm", Key: "rpm"}, {Head: "threshold V", Key: "threshold_v"}},
				Rows: [][]Cell{{{"0", "0"}, {"0.13", "0.13"}}}}},
		}},
		ReadAs: []string{"readings.csv: readings, 8 lines"},
	}
}

// Every rendering of a fixed document, each in a file named for its case.
func TestRenderings(t *testing.T) {
	for name, document := range map[string]Document{"two-sensors": twoSensors(), "one-sensor": oneSensor(), "nothing": {Sentence: "Nothing can be said."}} {
		for ending, render := range map[string]func(io.Writer, Document) error{
			"txt":      func(w io.Writer, d Document) error { return Text(w, d, TextOptions{}) },
			"wide.txt": func(w io.Writer, d Document) error { return Text(w, d, TextOptions{Wide: true}) },
			"md":       Markdown,
			"csv":      CSV,
		} {
			t.Run(name+"."+ending, func(t *testing.T) {
				var first, second bytes.Buffer
				if err := render(&first, document); err != nil {
					t.Fatal(err)
				}
				if err := render(&second, document); err != nil || !bytes.Equal(first.Bytes(), second.Bytes()) {
					t.Errorf("the second time it is not the same (%v)", err)
				}
				golden(t, filepath.Join("testdata", name+"."+ending), first.Bytes())
			})
		}
	}
}

func golden(t *testing.T, name string, got []byte) {
	t.Helper()
	if bytes.ContainsRune(got, '\x1b') {
		t.Error("there is an escape sequence in it")
	}
	if *update {
		if err := os.WriteFile(name, got, 0o644); err != nil {
			t.Fatal(err)
		}
		return
	}
	want, err := os.ReadFile(name)
	if err != nil {
		t.Fatal(err)
	}
	if diff := cmp.Diff(string(want), string(got)); diff != "" {
		t.Errorf("%s (-want +got):\n%s", name, diff)
	}
}

// errWriter fails at once.
type errWriter struct{}

func (errWriter) Write([]byte) (int, error) { return 0, io.ErrClosedPipe }

func TestWriteErrorsAreReturned(t *testing.T) {
	for name, err := range map[string]error{
		"text": Text(errWriter{}, oneSensor(), TextOptions{}), "Markdown": Markdown(errWriter{}, oneSensor()),
		"CSV": CSV(errWriter{}, oneSensor()), "JSON": JSON(errWriter{}, Envelope{}),
	} {
		if err != io.ErrClosedPipe {
			t.Errorf("%s: got %v; want the writer's error", name, err)
		}
	}
}

// Advice that two findings in a row share is given once, below the second.
func TestSharedAdvice(t *testing.T) {
	d := Document{Sentence: "S.", Findings: []captures.Finding{
		{Text: "one", Advice: "do it"}, {Text: "two", Advice: "do it"}, {Text: "three", Advice: "do more"}, {Text: "four"},
	}}
	var b bytes.Buffer
	if err := Text(&b, d, TextOptions{}); err != nil {
		t.Fatal(err)
	}
	const want = "S.\n\nfindings\n  note     one\n  note     two\n           do: do it\n  note     three\n           do: do more\n  note     four\n"
	if diff := cmp.Diff(want, b.String()); diff != "" {
		t.Errorf("(-want +got):\n%s", diff)
	}
}

// What only a page has is made for a page alone: the other outputs do not wait
// for it.
func TestOnlyAPageIsDrawn(t *testing.T) {
	made := 0
	d := Document{
		Sentence: "Clear.",
		Sections: []Section{{Charts: func() []Chart { made++; return nil }}},
		Inputs:   []func() Table{func() Table { made++; return Table{Title: "readings"} }},
	}
	for _, err := range []error{Text(io.Discard, d, TextOptions{Wide: true}), CSV(io.Discard, d), Markdown(io.Discard, d)} {
		if err != nil {
			t.Error(err)
		}
	}
	if made > 0 {
		t.Errorf("%d things made that are not shown", made)
	}
	if pageOf(t, d); made != 2 {
		t.Errorf("a page has %d of 2 things", made)
	}
}
