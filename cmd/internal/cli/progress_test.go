package cli

import (
	"bytes"
	"fmt"
	"os"
	"strings"
	"testing"
)

// A long capture shows on a terminal how far it has been read, in one line that
// is gone at the end; a short one, a pipe and --quiet show nothing.
func TestProgress(t *testing.T) {
	folderOf(t, map[string]string{"short.csv": longCapture(1000), "long.csv": longCapture(600000)})
	for _, c := range []struct {
		name     string
		terminal bool
		args     string
		want     string // "" for nothing
	}{
		{"file", true, "measure long.csv", "long.csv: 78 % of 10 MB read"},
		{"with noise", true, "measure short.csv --noise long.csv", "long.csv: 78 % of 10 MB read"},
		{"stream", true, "measure -", "standard input: 8 MB read"},
		{"not a terminal", false, "measure long.csv", ""},
		{"quiet", true, "measure --quiet long.csv", ""},
		{"short", true, "measure short.csv", ""},
	} {
		t.Run(c.name, func(t *testing.T) {
			in, err := os.Open("long.csv")
			if err != nil {
				t.Fatal(err)
			}
			defer in.Close()
			var out, shown bytes.Buffer
			Run(strings.Fields(c.args), Streams{In: in, Out: &out, Err: &shown, Terminal: c.terminal})
			if !strings.Contains(shown.String(), c.want) || c.want == "" && shown.Len() > 0 {
				t.Errorf("shown is %q, want %q", shown.String(), c.want)
			}
			if left := screenLine(shown.String()); strings.TrimRight(left, " ") != "" {
				t.Errorf("left standing is %q", left)
			}
			if c.args != "measure --quiet long.csv" && out.Len() == 0 {
				t.Error("no result")
			}
		})
	}
}

// longCapture has so many rows of a flat line, 18 bytes each.
func longCapture(rows int) string {
	var b strings.Builder
	b.WriteString("time_s,crank_v\n")
	for i := range rows {
		fmt.Fprintf(&b, "%09.5f,%07.4f\n", float64(i)/1e5, float64(i%7)*1e-3)
	}
	return b.String()
}

// screenLine is what a terminal shows of text that returns to its line's
// beginning.
func screenLine(text string) string {
	var line []rune
	for _, part := range strings.Split(text, "\r") {
		for i, c := range []rune(part) {
			if i == len(line) {
				line = append(line, c)
			} else {
				line[i] = c
			}
		}
	}
	return string(line)
}

func TestProgressLine(t *testing.T) {
	var shown bytes.Buffer
	p := progress{to: &shown, name: "far/" + strings.Repeat("long-", 20) + "ö.csv", size: 2000e6}
	for range 3 {
		p.add(15e6) // steps of a hundredth: the first is not yet one
	}
	p.end()
	p.add(100e6) // a reader that was not needed any more
	if got := strings.Count(shown.String(), "\r"); got != 3 {
		t.Errorf("%d returns in %q, want one line and its end", got, shown.String())
	}
	line, _, _ := strings.Cut(strings.TrimPrefix(shown.String(), "\r"), "\r")
	if n := len([]rune(line)); n > 79 || !strings.HasSuffix(line, "ö.csv: 1 % of 2000 MB read") {
		t.Errorf("line of %d is %q", n, line)
	}
	if left := screenLine(shown.String()); strings.TrimRight(left, " ") != "" {
		t.Errorf("left standing is %q", left)
	}
}
