package cli

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
)

// Readings of a sensor that is fine, of one whose noise passes its signal, and
// what is less than a sensor.
const (
	goodReadings  = "rpm,peak_v,weakest_v,noise_v\n0,,,0.021\n200,0.56,0.37,0.034\n850,2.31,2.05,0.052\n2500,6.29,5.57,0.09\n6000,11.6,10.3,0.196\n"
	noisyReadings = "rpm,peak_v,weakest_v,noise_v\n0,,,0.021\n200,0.56,0.37,0.5\n850,2.31,2.05,0.052\n2500,6.29,5.57,0.09\n"
	twoReadings   = "rpm,peak_v\n800,1.9\n2000,4.6\n"
	goodTable     = "rpm,threshold_v\n0,0.1\n150,0.1\n200,0.15\n400,0.39\n850,0.75\n2500,2.1\n6000,3.8\n"
)

// folderOf makes a folder with files and stays in it for the test.
func folderOf(t *testing.T, files map[string]string) string {
	t.Helper()
	dir := t.TempDir()
	for name, content := range files {
		if err := os.WriteFile(filepath.Join(dir, name), []byte(content), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	t.Chdir(dir)
	return dir
}

// run runs a command line in this process.
func run(args ...string) (code int, out, err string) {
	var o, e bytes.Buffer
	code = Run(args, Streams{In: strings.NewReader(goodReadings), Out: &o, Err: &e})
	return code, o.String(), e.String()
}

// Every ending of a command has its exit code, says on standard output what was
// found and on standard error what is wrong, and never both.
func TestExitCodes(t *testing.T) {
	folderOf(t, map[string]string{
		"good.csv": goodReadings, "noisy.csv": noisyReadings, "two.csv": twoReadings, "table.csv": goodTable,
		"high.csv": "rpm,threshold_v\n0,5\n", "bad.csv": "rpm,peak_v\nx,1\n", "bad.toml": "[crank]\nrows = 3\n",
	})
	for _, c := range []struct {
		want int
		args string
	}{
		{0, ""}, {0, "--help"}, {0, "--version"}, {0, "help propose"}, {0, "demo"},
		{0, "propose good.csv"}, {0, "propose -"}, {0, "check --table table.csv good.csv"}, {0, "compare --before good.csv --after good.csv"},
		{0, "compare --before good.csv --after good.csv --table table.csv"},
		{0, "check --table high.csv --help"},
		{1, "propose noisy.csv"}, {1, "propose two.csv"}, {1, "check --table high.csv good.csv"}, {1, "check --table table.csv noisy.csv"},
		{1, "check --table table.csv two.csv"}, {1, "compare --before good.csv --after good.csv --table high.csv"},
		{2, "polish"}, {2, "good.csv"}, {2, "propose"}, {2, "propose --polish good.csv"}, {2, "propose bad.csv"}, {2, "propose nowhere.csv"},
		{2, "propose table.csv"}, {2, "propose --setup bad.toml good.csv"}, {2, "propose --format pdf good.csv"}, {2, "propose good.csv -o good.csv"},
		{2, "check good.csv"}, {2, "check --table nowhere.csv good.csv"}, {2, "check --table good.csv good.csv"}, {2, "check --table 0=x good.csv"},
		{2, "compare"}, {2, "compare --before good.csv"}, {2, "compare --before good.csv --after two.csv"},
		{2, "start"}, {2, "demo good.csv"},
	} {
		code, out, errText := run(strings.Fields(c.args)...)
		if code != c.want {
			t.Errorf("armcurve %s: exit code %d; want %d\n%s", c.args, code, c.want, errText)
		}
		if (out == "") != (code == exitBad) || (errText == "") != (code != exitBad) {
			t.Errorf("armcurve %s: exit code %d with %d bytes on standard output, %d on standard error", c.args, code, len(out), len(errText))
		}
		if strings.Contains(errText, "strconv") || strings.Contains(errText, "%!") || strings.Contains(errText, "panic") {
			t.Errorf("armcurve %s: an error for programmers: %s", c.args, errText)
		}
	}
}

func TestQuiet(t *testing.T) {
	folderOf(t, map[string]string{"good.csv": goodReadings, "noisy.csv": noisyReadings})
	for args, want := range map[string]int{"propose -q good.csv": 0, "propose --quiet noisy.csv": 1, "check -q --table 0=5 good.csv": 1, "propose -q nowhere.csv": 2} {
		if code, out, errText := run(strings.Fields(args)...); code != want || out != "" || (errText != "") != (want == exitBad) {
			t.Errorf("armcurve %s: exit code %d, %q, %q", args, code, out, errText)
		}
	}
}

type brokenPipe struct{}

func (brokenPipe) Write([]byte) (int, error) { return 0, io.ErrClosedPipe }

// A standard output that cannot be written to is an error.
func TestBrokenOutput(t *testing.T) {
	folderOf(t, map[string]string{"good.csv": goodReadings})
	var errText bytes.Buffer
	code := Run([]string{"propose", "good.csv"}, Streams{In: strings.NewReader(""), Out: brokenPipe{}, Err: &errText})
	if code != exitBad || errText.Len() == 0 {
		t.Errorf("exit code %d, %q", code, errText.String())
	}
}

func TestHints(t *testing.T) {
	one, two := hint(errors.New("a"), "do one"), hint(errors.New("b"), "do two")
	for _, c := range []struct {
		err  error
		want []string
	}{
		{errors.New("plain"), nil},
		{one, []string{"do one"}},
		{fmt.Errorf("more: %w", one), []string{"do one"}},
		{errors.Join(one, errors.New("plain"), two), []string{"do one", "do two"}},
		{errors.Join(one, one), []string{"do one"}},
		{hint(one, "do more"), []string{"do one", "do more"}},
	} {
		if diff := cmp.Diff(c.want, hints(c.err)); diff != "" {
			t.Errorf("%v (-want +got):\n%s", c.err, diff)
		}
	}
	if !errors.Is(hint(errNotClear, "x"), errNotClear) {
		t.Error("a hint hides the error")
	}
}

// Help fits the screen, and every flag of it says something.
func TestHelp(t *testing.T) {
	for _, command := range newRoot(Streams{}, commands()).Commands() {
		_, out, _ := run(command.Name(), "--help")
		if !strings.Contains(out, "Usage:") {
			t.Errorf("no help for %s", command.Name())
		}
		for line := range strings.Lines(out) {
			if n := len([]rune(strings.TrimSuffix(line, "\n"))); n > helpWidth {
				t.Errorf("%s: a line of %d characters: %s", command.Name(), n, line)
			}
		}
	}
}

// The commands that a misspelt one is taken for exist.
func TestSuggestions(t *testing.T) {
	for typed, meant := range map[string]string{"propse": "propose", "chek": "check", "compar": "compare", "strat": "start"} {
		if _, _, errText := run(typed); !strings.Contains(errText, "did you mean "+meant+"?") {
			t.Errorf("%s: %s", typed, errText)
		}
	}
	names := []string{}
	for _, command := range newRoot(Streams{}, commands()).Commands() {
		names = append(names, command.Name())
	}
	for _, name := range []string{"propose", "check", "compare", "start", "demo"} {
		if !slices.Contains(names, name) {
			t.Errorf("no command %s among %v", name, names)
		}
	}
}

// A command line that begins with a command sets up that one alone; any other
// may ask for all of them.
func TestCommandsFor(t *testing.T) {
	for _, args := range [][]string{nil, {"--help"}, {"help", "check"}, {"chek"}, {"readings.csv", "check"}} {
		if n := len(commandsFor(args)); n != len(commands()) {
			t.Errorf("%v: %d commands", args, n)
		}
	}
	for _, c := range commands() {
		list := commandsFor([]string{c.name, "--help"})
		if len(list) != 1 || list[0].make(Streams{}).Name() != c.name {
			t.Errorf("%s: %d commands", c.name, len(list))
		}
	}
}
