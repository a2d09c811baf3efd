package browsertest

import (
	"os"
	"path/filepath"
	"strings"
	"sync"
	"testing"

	"armcurve/cmd/internal/report"
)

// page is one of those that every user may get.
type page struct {
	name, file string
	figures    int
}

// shared are the pages that all tests look at, written once.
var shared struct {
	sync.Once
	pages []page
}

func pages(t *testing.T) []page {
	t.Helper()
	shared.Do(func() {
		shared.pages = writePages(t, filepath.Join(filepath.Dir(program), "pages"))
	})
	return shared.pages
}

// writePages writes one page of each kind into a folder.
func writePages(t *testing.T, dir string) []page {
	t.Helper()
	armcurve(t, filepath.Dir(dir), "demo", "--save", dir)
	var list []page
	add := func(name string, figures int, args ...string) {
		armcurve(t, dir, append(args, "--report", name+".html", "--quiet")...)
		list = append(list, page{name, filepath.Join(dir, name+".html"), figures})
	}
	write(t, filepath.Join(dir, oddName), "rpm,peak_v,noise_v,clipped,note\n"+
		"0,,0.05,,\""+strings.ReplaceAll(oddNote, `"`, `""`)+"\"\n"+
		"200,0.5,0.09,,\n600,1.4,,,\n1000,2.4,0.2,,\n1800,40,,,typo\n3000,6.2,0.5,,\n4500,8.6,,,\n6000,9.0,,yes,\n")
	write(t, filepath.Join(dir, "unheard.csv"), "rpm,peak_v\n900,2.1\n2000,4.5\n4000,7.5\n")
	add("propose", 2, "propose", "readings.csv")
	add("check", 2, "check", "--table", "table.csv", "readings.csv")
	add("compare", 4, "compare", "--before", "readings.csv", "--after", "swapped.csv", "--table", "table.csv")
	add("odd", 2, "propose", "--setup", "none", "--wheel", "36-1", oddName)
	add("unheard", 2, "check", "--setup", "none", "--between-rows", "step", "--table", "0=0.2,100=0.3,900=0.8,9000=3", "unheard.csv")
	addIn := func(scenario, name string, figures int, args ...string) {
		sub := filepath.Join(dir, scenario)
		if _, err := os.Stat(sub); err != nil {
			armcurve(t, dir, "simulate", scenario, scenario)
		}
		file := filepath.Join(dir, name+".html")
		armcurve(t, sub, append(args, "--report", file, "--quiet")...)
		list = append(list, page{name, file, figures})
	}
	addIn("ignition-spikes", "measure", 4, "measure", "pull.csv")
	addIn("ignition-spikes", "investigate", 6, "investigate", "--table", "crank_table.csv", "pull.csv")
	addIn("short-tooth", "missed", 5, "investigate", "--table", "crank_table.csv", "pull.csv")
	addIn("dropout", "lost", 5, "measure", "pull.csv")
	addIn("reversed", "reversed", 2, "investigate", "--table", "crank_table.csv", "pull.csv")
	addIn("crank-and-cam", "both", 8, "investigate", "pull.csv")
	addIn("healthy-sweep", "captures", 6, "propose", "pull.csv")
	armcurve(t, dir, "demo", "--report", "demo.html")
	waves := filepath.Join(dir, "waves.html")
	writeWaves(t, waves)
	return append(list, page{"demo", filepath.Join(dir, "demo.html"), 6}, page{"waves", waves, 5})
}

const (
	oddName = `a<b>&"c' d.csv`
	oddNote = `<img src=x onerror="document.title='run'"> & "q" <script>document.title='run'</script>`
)

func write(t *testing.T, name, text string) {
	t.Helper()
	if err := os.WriteFile(name, []byte(text), 0o644); err != nil {
		t.Fatal(err)
	}
}

func writeWaves(t *testing.T, name string) {
	t.Helper()
	f, err := os.Create(name)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	if err := report.Page(f, "test", wavePictures()); err != nil {
		t.Fatal(err)
	}
}
