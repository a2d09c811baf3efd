package cli

import (
	"errors"

	"github.com/spf13/cobra"

	"armcurve/cmd/internal/report"
	"armcurve/threshold"
)

func newPropose(streams Streams) *cobra.Command {
	cmd := &cobra.Command{
		Use:   "propose FILE...",
		Short: "Propose a threshold table from readings",
		Long: `Propose fits the amplitude of a sensor's readings against engine speed, finds
the window between the noise and the weakest tooth, and proposes a table of
arming thresholds in it. It wants peaks at three speeds or more, and the noise
at standstill and while cranking.

Exit: 0 a table was proposed, 1 none can be, 2 bad input.`,
		Example: "  armcurve propose readings.csv\n  armcurve propose --wheel 60-2 --cranking-rpm 180-220 readings.csv",
		Args:    files,
	}
	j := newJob(streams, cmd)
	cmd.RunE = func(_ *cobra.Command, args []string) error { return j.propose(args) }
	return cmd
}

// files wants at least one file.
func files(cmd *cobra.Command, args []string) error {
	if len(args) > 0 {
		return nil
	}
	return hint(errors.New("no file given: want readings"), cmd.CommandPath()+" --help; armcurve start DIR makes a sheet to fill in")
}

func (j *job) propose(names []string) error {
	if err := j.begin(names); err != nil {
		return err
	}
	m, err := j.read(names)
	if err != nil {
		return err
	}
	return j.proposeFrom(m)
}

func (j *job) proposeFrom(m measured) error {
	results, missing, err := j.judged(m, func(s sensorReadings) (threshold.Result, error) {
		return threshold.Propose(s.readings, j.setup.Of(s.name).Options)
	})
	if err != nil {
		return err
	}
	if err := j.writeJudged("propose", m, results, missing, nil); err != nil {
		return err
	}
	if len(missing) > 0 || len(results) == 0 || anyWithout(results) {
		return errNotClear
	}
	return nil
}

// anyWithout tells whether a table has a row without a threshold.
func anyWithout(results []threshold.Result) bool {
	for _, r := range results {
		for _, row := range r.Table.Rows {
			if !row.ThresholdV.Known {
				return true
			}
		}
	}
	return false
}

func (j *job) writeJudged(command string, m measured, results []threshold.Result, missing []report.Missing, unused []string) error {
	c := j.context(m, sensorsOf(results), unused)
	c.Missing = missing
	return j.output.write(j.streams, result{report.Judged(results, c), func() any { return report.JudgedJSON(command, results, c) }})
}
