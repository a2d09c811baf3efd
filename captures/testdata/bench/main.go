// Bench compares armcurve measure with wc -l and with a script that does the
// same work by pandas and scipy (measure.py beside this folder), on captures
// that it makes in a temporary folder: how long each takes, what each answers,
// and how much memory armcurve takes for captures of several lengths.
//
// The three run one after the other, several times, and the shortest times
// count. Without the script's libraries the rest is printed.
package main

import (
	"flag"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"runtime"
	"strings"
)

func main() {
	rows := flag.Int("rows", 10_000_000, "rows of the captures")
	times := flag.Int("times", 4, "how often each command is run")
	python := flag.String("python", "/usr/bin/python3", "the interpreter that has pandas and scipy")
	flag.Parse()
	if err := bench(*rows, *times, *python); err != nil {
		fmt.Fprintln(os.Stderr, err)
		os.Exit(1)
	}
}

// bench prints everything, which takes some minutes.
func bench(rows, times int, python string) error {
	dir, err := os.MkdirTemp("", "armcurve-bench-")
	if err != nil {
		return err
	}
	defer os.RemoveAll(dir)
	program := filepath.Join(dir, "armcurve")
	build := exec.Command("go", "build", "-trimpath", "-o", program, "./cmd/armcurve")
	build.Env = append(os.Environ(), "CGO_ENABLED=0") // as make builds it
	if out, err := build.CombinedOutput(); err != nil {
		return fmt.Errorf("%w: %s", err, out)
	}
	fmt.Printf("%s, %d processors, load %s; shortest of %d runs\n", runtime.GOARCH, runtime.NumCPU(), load(), times)
	script := script(python)
	csv, wav := filepath.Join(dir, "pull.csv"), filepath.Join(dir, "pull.wav")
	if err := writeCSV(csv, rows); err != nil {
		return err
	}
	if err := writeWAV(wav, rows); err != nil {
		return err
	}
	measure := []string{program, "measure", "--setup", "none", "--wheel", wheel, "--format", "json"}
	wc := []string{"wc", "-l", csv}
	for _, c := range []comparison{
		{"CSV, one of two channels", csv, wc, with(measure, "--channel", "crank", csv), with(script, csv, "crank_v", "36", "1")},
		{"WAV, 16 bits", wav, nil, with(measure, "--full-scale", fullScaleText, wav), with(script, wav, "crank_v", "36", "1", fullScaleText)},
		{"CSV, both channels", csv, wc, with(measure, "--channel", "crank=crank,cam=cam", csv), nil},
	} {
		if err := c.print(times); err != nil {
			return err
		}
	}
	return printMemory(dir, rows, with(measure, "--channel", "crank"), with(measure, "--channel", "crank=crank,cam=cam"))
}

// with is a command with more arguments; none for none.
func with(command []string, more ...string) []string {
	if command == nil {
		return nil
	}
	return append(command[:len(command):len(command)], more...)
}

// script is the command that runs the script; nil where it cannot run.
func script(python string) []string {
	if out, err := exec.Command(python, "-c", "import pandas, scipy; print(pandas.__version__, scipy.__version__)").CombinedOutput(); err == nil {
		versions := strings.Fields(string(out))
		fmt.Printf("script: pandas %s, scipy %s\n", versions[0], versions[1])
		return []string{python, "captures/testdata/measure.py"}
	}
	fmt.Printf("%s has no pandas or no scipy: the script is left out (Debian: apt install python3-pandas python3-scipy)\n", python)
	return nil
}

// load is what else the machine does, where the system tells.
func load() string {
	text, err := os.ReadFile("/proc/loadavg")
	if err != nil {
		return "unknown"
	}
	return strings.Fields(string(text))[0]
}
