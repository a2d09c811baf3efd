// Armcurve proposes, checks and compares arming thresholds for reluctor
// sensors.
package main

import (
	"os"

	"armcurve/cmd/internal/cli"
)

func main() { os.Exit(cli.Run(os.Args[1:], cli.System())) }
