package main

import (
	"flag"
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
	})
}
