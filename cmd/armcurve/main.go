// Armcurve proposes, checks and compares arming thresholds for reluctor
// sensors.
package main

import (
	"os"
	"runtime/debug"

	"armcurve/cmd/internal/cli"
)

func main() {
	// Little is thrown away; so the heap need not grow to twice what is in use.
	debug.SetGCPercent(25)
	os.Exit(cli.Run(os.Args[1:], cli.System()))
}
