package main

import (
	"bytes"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"syscall"
	"time"
)

// run is what running a command showed.
type run struct {
	wall, processor time.Duration
	peakMB          float64
	out             []byte
}

// ran runs a command. The peak of its memory counts from that of this program,
// which the system hands down to it and is small.
func ran(command []string) (run, error) {
	var out, complaint bytes.Buffer
	cmd := exec.Command(command[0], command[1:]...)
	cmd.Stdout, cmd.Stderr = &out, &complaint
	start := time.Now()
	if err := cmd.Run(); err != nil {
		return run{}, fmt.Errorf("%s: %w: %s", filepath.Base(command[0]), err, complaint.Bytes())
	}
	r := run{wall: time.Since(start), processor: cmd.ProcessState.UserTime() + cmd.ProcessState.SystemTime(), out: out.Bytes()}
	if usage, ok := cmd.ProcessState.SysUsage().(*syscall.Rusage); ok {
		r.peakMB = float64(usage.Maxrss) / 1024 // kB on Linux
	}
	return r, nil
}

// better keeps the shorter times and the larger memory of two runs.
func (r run) better(other run) run {
	if r.out == nil {
		return other
	}
	r.wall, r.processor, r.peakMB = min(r.wall, other.wall), min(r.processor, other.processor), max(r.peakMB, other.peakMB)
	return r
}

// comparison is one capture and who reads it; wc and script are nil where they
// cannot.
type comparison struct {
	what, file          string
	wc, measure, script []string
}

// print runs the commands in turn and prints what they took and said.
func (c comparison) print(times int) error {
	commands := [][]string{c.wc, c.measure, c.script}
	runs := make([]run, len(commands))
	for range times {
		for i, command := range commands {
			if command == nil {
				continue
			}
			r, err := ran(command)
			if err != nil {
				return err
			}
			runs[i] = runs[i].better(r)
		}
	}
	size, err := os.Stat(c.file)
	if err != nil {
		return err
	}
	fmt.Printf("\n%s, %d MB\n", c.what, size.Size()/1e6)
	for i, name := range []string{"wc -l", "armcurve measure", "the script"} {
		if commands[i] != nil {
			fmt.Printf("  %-16s  %7.3f s  %7.3f s of processors  %7.1f MB\n", name, runs[i].wall.Seconds(), runs[i].processor.Seconds(), runs[i].peakMB)
		}
	}
	if c.wc != nil {
		fmt.Printf("  armcurve ÷ wc -l       %5.1f\n", ratio(runs[1], runs[0]))
	}
	if c.script == nil {
		return nil
	}
	fmt.Printf("  the script ÷ armcurve  %5.1f\n", ratio(runs[2], runs[1]))
	return printAnswers(runs[1].out, runs[2].out)
}

func ratio(a, b run) float64 { return a.wall.Seconds() / b.wall.Seconds() }

// printMemory prints the peak of memory for captures of three lengths.
func printMemory(dir string, rows int, commands ...[]string) error {
	fmt.Printf("\npeak memory of armcurve measure\n  %12s  %11s  %12s\n", "rows", "one channel", "two channels")
	name := filepath.Join(dir, "length.csv")
	for _, n := range []int{rows / 10, rows, 4 * rows} {
		if err := writeCSV(name, n); err != nil {
			return err
		}
		fmt.Printf("  %12d", n)
		for i, command := range commands {
			r, err := ran(with(command, name))
			if err != nil {
				return err
			}
			fmt.Printf("  %*.1f MB", 8+i, r.peakMB)
		}
		fmt.Println()
	}
	return nil
}
