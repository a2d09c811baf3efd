package cli

import (
	"errors"
	"fmt"
	"slices"

	"github.com/spf13/cobra"

	"armcurve/captures"
	"armcurve/cmd/internal/report"
	"armcurve/cmd/internal/setup"
	"armcurve/threshold"
)

// comparing is what compare is asked.
type comparing struct {
	before, after []string
	table         tableFlag
	sameSensor    bool
	// setupBefore is the setup with what the captures before the change showed.
	setupBefore setup.Setup
}

func newCompare(streams Streams) *cobra.Command {
	cmd := &cobra.Command{
		Use:   "compare --before A --after B",
		Short: "Tell what changed between two sets of readings",
		Long: `Compare gives the ratio of amplitudes by speed, tells a ratio that is the same
at every speed (gap or sensor) from one that falls with speed (load or filter),
and how the noise changed. With --table it judges the old table on the new
readings and scales it with the amplitude. Folders stand for the readings in
them.

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
	flags.StringArrayVar(&c.before, "before", nil, "readings before the change, a `file` or folder (repeatable)")
	flags.StringArrayVar(&c.after, "after", nil, "readings after the change, a `file` or folder (repeatable)")
	flags.Var(&c.table, "table", "the old `table`: is it still safe?")
	flags.BoolVar(&c.sameSensor, "same-sensor", false, "the sensor is the same, so estimate the change of gap (wants --diameter-mm and --wheel)")
	j := newJob(streams, cmd)
	cmd.RunE = func(*cobra.Command, []string) error { return j.compare(c) }
	return cmd
}

func (j *job) compare(c comparing) error {
	if len(c.before) == 0 || len(c.after) == 0 {
		return hint(errors.New("nothing to compare: want --before and --after"), "armcurve compare --before A --after B")
	}
	if err := j.begin(slices.Concat(c.before, c.after, []string{string(c.table)})); err != nil {
		return err
	}
	stated := j.setup
	before, err := j.read(c.before)
	if err != nil {
		return err
	}
	c.setupBefore, j.setup = j.setup, stated // a wheel seen before says nothing of the one after
	after, err := j.read(c.after)
	if err != nil {
		return err
	}
	return j.compareThese(before, after, c)
}

func (j *job) compareThese(before, after measured, c comparing) error {
	all := measured{
		repeated: threshold.Sides(before.repeated, after.repeated),
		readAs:   slices.Concat(labelled("before: ", before.readAs), labelled("after: ", after.readAs)),
		findings: slices.Concat(threshold.Sides(before.findings, after.findings), notCompared(before, after), sameFiles(c.before, c.after)),
		notes:    sidesOf(before.notes, after.notes),
		waves:    slices.Concat(sideWaves("before", before.waves), sideWaves("after", after.waves)),
	}
	refused := slices.Concat(refusedOn("before", before), refusedOn("after", after))
	pairs := pairsOf(before, after)
	if len(pairs) == 0 && len(refused) > 0 {
		if err := j.writeJudged("compare", all, nil, refused, tableOnly); err != nil {
			return err
		}
		return errNotClear
	}
	if len(pairs) == 0 {
		return fmt.Errorf("before speaks of the %s, after of the %s; want readings of the same sensor", before.sensors[0].name, after.sensors[0].name)
	}
	table, err := j.oldTable(c, pairs, &all)
	if err != nil {
		return err
	}
	var comparisons []threshold.Comparison
	for _, p := range pairs {
		x, err := j.comparePair(p, table, c)
		if err != nil {
			return err
		}
		comparisons = append(comparisons, x)
	}
	return j.writeCompared(comparisons, all, refused, c)
}

// pair is what was measured of one sensor before and after.
type pair struct {
	name          string
	before, after []captures.Reading
}

// pairsOf are the sensors measured before and after, of which something may be
// concluded on both sides.
func pairsOf(before, after measured) []pair {
	var pairs []pair
	for _, b := range before.sensors {
		for _, a := range after.sensors {
			if a.name == b.name && !before.isRefused(a.name) && !after.isRefused(a.name) {
				pairs = append(pairs, pair{a.name, b.readings, a.readings})
			}
		}
	}
	return pairs
}

// notCompared tells of sensors that were measured on one side only.
func notCompared(before, after measured) []captures.Finding {
	var list []captures.Finding
	tell := func(names, others []string, when string) {
		for _, name := range names {
			if !slices.Contains(others, name) && !before.isRefused(name) && !after.isRefused(name) {
				list = append(list, captures.Finding{
					Kind: "not-compared", Severity: captures.Note,
					Text: fmt.Sprintf("the %s was measured %s the change only, so it is not compared", name, when),
				})
			}
		}
	}
	tell(before.names(), after.names(), "before")
	tell(after.names(), before.names(), "after")
	return list
}

// oldTable reads the table that was in the controller; nil if none was given.
func (j *job) oldTable(c comparing, pairs []pair, all *measured) (*givenTable, error) {
	if c.table == "" {
		return nil, nil
	}
	given, err := readTable(string(c.table), &j.setup)
	if err != nil {
		return nil, err
	}
	var names []string
	for _, p := range pairs {
		names = append(names, p.name)
	}
	unfit, err := given.fits(names)
	if err != nil {
		return nil, err
	}
	all.findings = append(all.findings, unfit...)
	all.readAs = append(all.readAs, given.readAs())
	return &given, nil
}

func (j *job) comparePair(p pair, table *givenTable, c comparing) (threshold.Comparison, error) {
	sensor, was := j.setup.Of(p.name), c.setupBefore.Of(p.name)
	if !sensor.Wheel.Known() {
		sensor.Wheel = was.Wheel
	}
	if c.sameSensor && (!sensor.DiameterMM.Known || sensor.Wheel.Pitches == 0) {
		return threshold.Comparison{}, hint(errors.New("--same-sensor needs the wheel's pitch: want --diameter-mm and a --wheel of equal pitches"), "without them only the ratio of amplitudes is known")
	}
	co := threshold.CompareOptions{SameSensor: c.sameSensor, DiameterMM: sensor.DiameterMM, WheelBefore: was.Wheel}
	if table != nil {
		old := table.of(sensor, p.name)
		co.Table = &old
	}
	x, err := threshold.Compare(p.before, p.after, sensor.Options, co)
	var few *threshold.TooFewError
	if errors.As(err, &few) {
		err = hint(err, report.FewAdvice)
	}
	return x, err
}

// sameFiles warns of a file that is given on both sides.
func sameFiles(before, after []string) []captures.Finding {
	var list []captures.Finding
	for _, name := range after {
		if _, found := namedBefore(before, name); found {
			list = append(list, captures.Finding{
				Kind: "duplicate", Severity: captures.Warning,
				Text:   name + " is given before and after, and nothing changes from a file to itself",
				Advice: "give the readings before the change with --before, those after it with --after",
			})
		}
	}
	return list
}

// refusedOn are the sensors refused on one side of the change.
func refusedOn(side string, m measured) []report.Missing {
	var list []report.Missing
	for _, r := range m.refused {
		r.Finding.Text = side + ": " + r.Finding.Text
		list = append(list, r)
	}
	return list
}

// sideWaves are the captures of one side, each with its name.
func sideWaves(side string, waves []report.MeasuredCapture) []report.MeasuredCapture {
	waves = slices.Clone(waves)
	for i := range waves {
		waves[i].Name += " (" + side + ")"
	}
	return waves
}

// sidesOf says which side a line speaks of, unless both have it.
func sidesOf(before, after []string) []string {
	isIn := func(list []string) func(string) bool {
		return func(line string) bool { return slices.Contains(list, line) }
	}
	common := slices.DeleteFunc(slices.Clone(before), func(line string) bool { return !slices.Contains(after, line) })
	return slices.Concat(common,
		labelled("before: ", slices.DeleteFunc(slices.Clone(before), isIn(common))),
		labelled("after: ", slices.DeleteFunc(slices.Clone(after), isIn(common))))
}

func labelled(label string, lines []string) []string {
	var list []string
	for _, line := range lines {
		list = append(list, label+line)
	}
	return list
}

func (j *job) writeCompared(comparisons []threshold.Comparison, all measured, refused []report.Missing, c comparing) error {
	var sensors []*threshold.Sensor
	clear := len(refused) == 0
	for _, x := range comparisons {
		sensors = append(sensors, x.After)
		clear = clear && (x.Check == nil || x.Check.Judgement.Verdict == threshold.Clear)
	}
	unused := axisOnly
	if c.table == "" {
		unused = slices.Concat(axisOnly, tableOnly, weakestOnly)
	}
	context := j.context(all, sensors, unused)
	context.Missing = refused
	r := result{report.Compared(comparisons, context), func() any { return report.ComparedJSON(comparisons, c.sameSensor, context) }}
	if err := j.output.write(j.streams, r); err != nil {
		return err
	}
	if !clear {
		return errNotClear
	}
	return nil
}
