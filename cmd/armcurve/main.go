// Armcurve proposes, checks and compares arming thresholds for reluctor
// sensors.
package main

import (
	"os"
	"runtime/debug"

	"armcurve/cmd/internal/cli"
)

// heapPercent is what the heap may grow by between collections: while a wave is read
// all that is needed is there soon, and hardly anything is thrown away later.
const heapPercent = 10

func main() {
	debug.SetGCPercent(heapPercent)
	os.Exit(cli.Run(os.Args[1:], cli.System()))
}
