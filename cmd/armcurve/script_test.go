package main

import (
	"errors"
	"flag"
	"os/exec"
	"strconv"
	"testing"

	"github.com/rogpeppe/go-internal/testscript"
)

var update = flag.Bool("update", false, "write what commands print into the scripts that compare it")

func TestMain(m *testing.M) {
	testscript.Main(m, map[string]func(){"armcurve": main})
}

// TestScripts runs the commands as a tuner types them.
func TestScripts(t *testing.T) {
	testscript.Run(t, testscript.Params{
		Dir:                 "testdata/script",
		UpdateScripts:       *update,
		RequireExplicitExec: true,
		RequireUniqueNames:  true,
		Cmds:                map[string]func(*testscript.TestScript, bool, []string){"exits": exits},
	})
}

// exits runs a command and wants it to end with a code: exits 2 armcurve check.
func exits(ts *testscript.TestScript, neg bool, args []string) {
	if neg || len(args) < 2 {
		ts.Fatalf("usage: exits code command [arguments]")
	}
	want, err := strconv.Atoi(args[0])
	ts.Check(err)
	got := 0
	var failed *exec.ExitError
	switch err := ts.Exec(args[1], args[2:]...); {
	case errors.As(err, &failed):
		got = failed.ExitCode()
	case err != nil:
		ts.Fatalf("%v", err)
	}
	if got != want {
		ts.Fatalf("exit code is %d; want %d", got, want)
	}
}
