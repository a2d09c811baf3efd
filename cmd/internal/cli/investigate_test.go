package cli

import (
	"os"
	"strings"
	"testing"

	"armcurve/captures"
	"armcurve/captures/simulate"
)

// recorded writes the only capture of a scenario, changed, into a new folder.
func recorded(t *testing.T, scenario, file string, change func(*simulate.Rig)) {
	t.Helper()
	s, err := simulate.FindScenario(scenario)
	if err != nil {
		t.Fatal(err)
	}
	g := s.Captures[0]
	change(&g)
	folderOf(t, nil)
	f, err := os.Create(file)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	source, err := simulate.Open(g)
	if err != nil {
		t.Fatal(err)
	}
	if err := simulate.WriteCSV(f, source); err != nil {
		t.Fatal(err)
	}
}

// unwrapped is a screen's text without its line ends.
func unwrapped(text string) string { return strings.Join(strings.Fields(text), " ") }

// Without a gap, and without the wheel stated, nothing is known of the speed: that is
// said, and that stating the wheel is what helps, with a table and without.
func TestWheelThatCannotBeTold(t *testing.T) {
	recorded(t, "healthy-sweep", "even.csv", func(g *simulate.Rig) {
		wheel, err := captures.ParseWheel("24")
		if err != nil {
			t.Fatal(err)
		}
		g.LengthS, g.Sensors[0].Wheel = 2, wheel
	})
	code, out, _ := run("investigate", "even.csv", "--table", "0=0.1,8000=3")
	if out = unwrapped(out); code != 1 || !strings.Contains(out, "next: investigate this capture again with the wheel stated") ||
		!strings.Contains(out, "problem the wheel cannot be told: ") {
		t.Errorf("%d %s", code, out)
	}
	code, out, errors := run("investigate", "even.csv")
	if code != 2 || out != "" || !strings.Contains(errors, "none can be proposed: the wheel cannot be told: ") ||
		!strings.Contains(errors, "hint: state the wheel") {
		t.Errorf("%d %s", code, errors)
	}
}

// Where one of two sensors cannot be measured, the other's good result is no clear
// one: nothing is known of the first.
func TestOneOfTwoRefused(t *testing.T) {
	recorded(t, "crank-and-cam", "both.csv", func(g *simulate.Rig) { g.Sensors[0].Reversed = true })
	arguments := []string{"investigate", "both.csv", "--channel", "crank=crank,cam=cam", "--sensor", "cam", "--wheel", "@60,240,480"}
	code, out, errors := run(arguments...)
	if out = unwrapped(out); code != 1 || !strings.HasPrefix(out, "In both.csv, cam: clear: ") ||
		!strings.Contains(out, "nothing can be said of the crank sensor.") || !strings.Contains(out, "problem crank: the wires are the wrong way round") {
		t.Errorf("%d %s %s", code, out, errors)
	}
	if _, out, _ = run(append(arguments, "--format", "json")...); !strings.Contains(out, `"verdict": "unproven",`) {
		t.Errorf("%s", out)
	}
}

// A capture without a whole turn of the wheel stated says so, and is not clear.
func TestLessThanATurn(t *testing.T) {
	recorded(t, "healthy-sweep", "short.csv", func(g *simulate.Rig) { g.LengthS = 0.03 })
	code, out, _ := run("investigate", "short.csv", "--wheel", "36-1", "--table", "0=0.1,8000=3")
	if out = unwrapped(out); code != 1 || !strings.HasPrefix(out, "Unproven: ") || !strings.Contains(out, "not a whole turn of the 36-1 stated") ||
		!strings.Contains(out, "next: record two whole turns of the engine or more") || strings.Contains(out, "state the wheel") {
		t.Errorf("%d %s", code, out)
	}
	code, out, errors := run("investigate", "short.csv", "--wheel", "36-1")
	if code != 2 || out != "" || !strings.Contains(errors, "not a whole turn of the 36-1 stated") {
		t.Errorf("%d %s", code, errors)
	}
}

// That another wheel turned than was stated is the cause; that it cannot be told which
// is not said once more.
func TestAnotherWheelIsToldOnce(t *testing.T) {
	recorded(t, "crank-and-cam", "cam.csv", func(g *simulate.Rig) { g.Sensors = g.Sensors[1:] })
	code, out, _ := run("investigate", "cam.csv", "--wheel", "36-1", "--table", "0=0.1,8000=3")
	if out = unwrapped(out); code != 1 || !strings.HasPrefix(out, "Fails: the wheel is not the one stated.") || strings.Contains(out, "the wheel cannot be told") {
		t.Errorf("%d %s", code, out)
	}
}
