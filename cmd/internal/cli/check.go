package cli

import (
	"errors"

	"github.com/spf13/cobra"

	"armcurve/threshold"
)

func newCheck(streams Streams) *cobra.Command {
	cmd := &cobra.Command{
		Use:   "check --table T FILE...",
		Short: "Judge a threshold table against readings",
		Long: `Check judges a table at every speed from standstill to the limit, between its
rows too, and says what to change. With --repair it mends the table: as few rows
as can be, by as little as can be, for it to be clear, or as near to that as its
rows allow; a copy saved with -o as .csv is then the repaired table. The table
is a CSV file with the columns rpm and threshold_v (and sensor, if it holds the
tables of crank and cam), or typed out: 0=0.2,500=0.6,3000=3.2.

Exit: 0 clear, 1 another verdict, 2 bad input.`,
		Example: "  armcurve check --table table.csv readings.csv\n  armcurve check --table 0=0.2,500=0.6,3000=3.2 readings.csv",
		Args:    files,
	}
	var table tableFlag
	var repair bool
	cmd.Flags().Var(&table, "table", "the `table`: a CSV file, or typed out as rpm=volts,...")
	cmd.Flags().BoolVar(&repair, "repair", false, "mend the table with the fewest and smallest changes")
	j := newJob(streams, cmd)
	cmd.RunE = func(_ *cobra.Command, args []string) error { return j.check(string(table), repair, args) }
	return cmd
}

func (j *job) check(table string, repair bool, names []string) error {
	if table == "" {
		return hint(errors.New("no table given: want --table"), "--table table.csv, or typed out: --table 0=0.2,500=0.6,3000=3.2")
	}
	if err := j.begin(append([]string{table}, names...)); err != nil {
		return err
	}
	m, err := j.read(names)
	if err != nil {
		return err
	}
	given, err := readTable(table, &j.setup)
	if err != nil {
		return err
	}
	return j.checkAgainst(given, repair, m)
}

func (j *job) checkAgainst(given givenTable, repair bool, m measured) error {
	unfit, err := given.fits(m.names())
	if err != nil {
		return err
	}
	m.findings = append(m.findings, unfit...)
	m.readAs = append(m.readAs, given.readAs())
	results, missing, err := j.judged(m, func(s sensorReadings) (threshold.Result, error) {
		sensor := j.setup.Of(s.name)
		r, err := threshold.Check(s.readings, given.of(sensor, s.name), sensor.Options)
		if err == nil && repair {
			r.AddRepair()
		}
		return r, err
	})
	if err != nil {
		return err
	}
	if err := j.writeJudged("check", m, results, missing, axisOnly); err != nil {
		return err
	}
	if len(missing) > 0 || !allClear(results) {
		return errNotClear
	}
	return nil
}
