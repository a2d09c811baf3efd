package cli

import (
	"fmt"
	"slices"

	"github.com/spf13/cobra"

	"armcurve/cmd/internal/report"
	"armcurve/threshold"
)

func newMeasure(streams Streams) *cobra.Command {
	cmd := &cobra.Command{
		Use:   "measure CAPTURE...",
		Short: "Readings from oscilloscope captures",
		Long: `Measure reads captures (CSV in the shapes that oscilloscopes and loggers write,
or WAV), finds the teeth by the phase of the wheel, and gives the readings:
peak, weakest tooth and noise by speed. Saved with -o readings.csv they are what
propose, check and compare read; these also take the captures themselves.

Exit: 0 measured, 1 no reading could be taken, 2 bad input.`,
		Example: "  armcurve measure pull.csv -o readings.csv\n  armcurve measure --channel crank=A,cam=B --wheel 60-2 pull.csv",
		Args:    files,
	}
	j := newJob(streams, cmd)
	cmd.Flags().BoolVar(&j.keeping.teeth, "teeth", false, "list every tooth in the JSON")
	cmd.Flags().BoolVar(&j.keeping.revolutions, "revolutions", false, "list every turn in the JSON")
	cmd.RunE = func(_ *cobra.Command, args []string) error { return j.measure(args) }
	return cmd
}

func (j *job) measure(names []string) error {
	if err := j.begin(append(names, j.noise...)); err != nil {
		return err
	}
	m, err := j.read(names)
	if err != nil {
		return err
	}
	if len(m.lists) > 0 {
		return hint(fmt.Errorf("%s: these are readings already; want captures", m.lists[0]), "armcurve propose takes readings and captures together")
	}
	for i := range m.waves {
		x := &m.waves[i].Measurement
		x.Findings = slices.Concat(x.Findings, threshold.UnitDoubts(x.Readings))
	}
	c := report.Context{ReadAs: m.readAs, Findings: m.repeated, Assumed: m.notes, Command: commandLine(j.streams.args), SetupText: j.setupText}
	if j.setup.File != "" {
		c.Setup = "setup from " + j.setup.File
	}
	if err := j.output.write(j.streams, result{report.Measured(m.waves, c), func() any { return report.MeasureJSON(m.waves, c) }}); err != nil {
		return err
	}
	if !anyReading(m.waves) {
		return errNotClear
	}
	return nil
}

func anyReading(waves []report.MeasuredCapture) bool {
	return slices.ContainsFunc(waves, func(w report.MeasuredCapture) bool { return len(w.Measurement.Readings) > 0 })
}
