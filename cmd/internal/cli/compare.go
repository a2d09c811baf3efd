package cli

import (
	"errors"
	"fmt"
	"slices"

	"github.com/spf13/cobra"

	"armcurve/cmd/internal/report"
	"armcurve/threshold"
)

// comparing is what compare is asked.
type comparing struct {
	before, after []string
	table         string
	sameSensor    bool
}

func newCompare(streams Streams) *cobra.Command {
	cmd := &cobra.Command{
		Use:   "compare --before A --after B",
		Short: "Tell what changed between two sets of readings",
		Long: `Compare gives the ratio of amplitudes by speed, tells a ratio that is the same at
every speed (gap or sensor) from one that falls with speed (load or filter), and
how the noise changed. With --table it judges the old table on the new readings
and scales it with the amplitude. Folders stand for the readings in them.

Exit: 0 compared (with --table: and clear), 1 another verdict, 2 bad input.`,
		Example: "  armcurve compare --before old.csv --after new.csv --table table.csv",
		Args: func(_ *cobra.Command, args []string) error {
			if len(args) > 0 {
				return hint(fmt.Errorf("%s stands alone: want --before or --after before it", args[0]), "armcurve compare --before A --after B")
			}
			return nil
		},
	}
	var c comparing
	flags := cmd.Flags()
	flags.StringArrayVar(&c.before, "before", nil, "readings before the change, a file or folder (repeatable)")
	flags.StringArrayVar(&c.after, "after", nil, "readings after the change, a file or folder (repeatable)")
	flags.StringVar(&c.table, "table", "", "the old table: is it still safe?")
	flags.BoolVar(&c.sameSensor, "same-sensor", false, "the sensor is the same, so estimate the change of gap (wants --diameter-mm and --wheel)")
	j := newJob(streams, cmd)
	cmd.RunE = func(*cobra.Command, []string) error { return j.compare(c) }
	return cmd
}

func (j *job) compare(c comparing) error {
	if len(c.before) == 0 || len(c.after) == 0 {
		return hint(errors.New("nothing to compare: want --before and --after"), "armcurve compare --before A --after B")
	}
	if err := j.begin(slices.Concat(c.before, c.after, []string{c.table})); err != nil {
		return err
	}
	before, err := j.read(c.before)
	if err != nil {
		return err
	}
	after, err := j.read(c.after)
	if err != nil {
		return err
	}
	return j.compareThese(before, after, c)
}

func (j *job) compareThese(before, after measured, c comparing) error {
	all := measured{
		readAs:   slices.Concat(labelled("before: ", before.readAs), labelled("after: ", after.readAs)),
		findings: slices.Concat(before.findings, after.findings),
		notes:    slices.Concat(before.notes, after.notes),
	}
	var comparisons []threshold.Comparison
	for _, a := range after.sensors {
		i := slices.IndexFunc(before.sensors, func(b sensorReadings) bool { return b.name == a.name })
		if i < 0 {
			continue
		}
		co, err := j.compareOptions(c, a.name, &all)
		if err != nil {
			return err
		}
		x, err := threshold.Compare(before.sensors[i].readings, a.readings, j.setup.Of(a.name).Options, co)
		if err != nil {
			return err
		}
		comparisons = append(comparisons, x)
	}
	if len(comparisons) == 0 {
		return errors.New("before and after speak of different sensors: want readings of the same one")
	}
	return j.writeCompared(comparisons, all, c)
}

func labelled(label string, lines []string) []string {
	var list []string
	for _, line := range lines {
		list = append(list, label+line)
	}
	return list
}

func (j *job) compareOptions(c comparing, sensor string, all *measured) (threshold.CompareOptions, error) {
	s := j.setup.Of(sensor)
	co := threshold.CompareOptions{SameSensor: c.sameSensor, DiameterMM: s.DiameterMM}
	if c.sameSensor && (!s.DiameterMM.Known || s.Wheel.Pitches == 0) {
		return co, hint(errors.New("--same-sensor needs the wheel's pitch: want --diameter-mm and --wheel"), "without them only the ratio of amplitudes is known")
	}
	if c.table == "" {
		return co, nil
	}
	t, readAs, err := readTable(c.table, &j.setup, s.Input.BetweenRows)
	if err != nil {
		return co, err
	}
	co.Table = &t
	all.readAs = append(all.readAs, readAs)
	return co, nil
}

func (j *job) writeCompared(comparisons []threshold.Comparison, all measured, c comparing) error {
	var sensors []*threshold.Sensor
	clear := true
	for _, x := range comparisons {
		sensors = append(sensors, x.After)
		clear = clear && (x.Check == nil || x.Check.Judgement.Verdict == threshold.Clear)
	}
	context := j.context(all, sensors)
	r := result{report.Compared(comparisons, context), report.ComparedJSON(comparisons, c.sameSensor, context)}
	if err := j.output.write(j.streams.Out, r); err != nil {
		return err
	}
	if !clear {
		return errNotClear
	}
	return nil
}
