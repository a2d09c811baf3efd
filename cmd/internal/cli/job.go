package cli

import (
	"errors"
	"fmt"
	"os"
	"slices"

	"github.com/spf13/cobra"

	"armcurve/captures"
	"armcurve/cmd/internal/report"
	"armcurve/cmd/internal/setup"
	"armcurve/threshold"
)

// job is what propose, check and compare have in common: the setup, what is
// read, and how the result is written.
type job struct {
	streams   Streams
	flags     *setup.Flags
	condition string
	output    output

	setup setup.Setup
}

func newJob(streams Streams, cmd *cobra.Command) *job {
	j := &job{streams: streams}
	j.flags = setup.AddFlags(cmd, setup.Input, setup.Engine, setup.Margins, setup.Files)
	cmd.Flags().StringVar(&j.condition, "condition", "", "use the peaks of this condition, where readings name several")
	j.output.bind(cmd)
	return j
}

// begin loads the setup and refuses outputs that cannot be written.
func (j *job) begin(inputs []string) (err error) {
	if err = j.output.check(inputs); err != nil {
		return err
	}
	j.setup, err = j.flags.Load(os.ReadFile)
	return err
}

// read reads the named files.
func (j *job) read(names []string) (measured, error) {
	list, err := sources(names, j.streams.In)
	if err != nil {
		return measured{}, err
	}
	return readAll(list, &j.setup, j.condition)
}

// context is what stands in the report beside the result.
func (j *job) context(m measured, sensors []*threshold.Sensor) report.Context {
	c := report.Context{ReadAs: m.readAs, Findings: m.findings}
	if j.setup.File != "" {
		c.Setup = "setup from " + j.setup.File
	}
	c.Assumed, c.Defaults = assumed(&j.setup, m, sensors)
	return c
}

// replayOnly are settings that only a replay of a wave depends on.
var replayOnly = []string{"counts_on", "speed_from", "filter_hz"}

// assumed tells what stood in for a measurement, and the other defaults.
func assumed(s *setup.Setup, m measured, sensors []*threshold.Sensor) (standIns, defaults []string) {
	standIns = append(standIns, m.notes...)
	for _, sensor := range sensors {
		if slices.Contains(sensor.Assumed, "wheel") {
			standIns = append(standIns, fmt.Sprintf("the %s wheel is not stated: neither a hump inside a gap nor noise at the teeth's own crossings is reckoned with (--wheel)", sensor.Name))
		}
	}
	for _, a := range s.Assumed {
		switch {
		case slices.Contains(replayOnly, a.Key) || a.Key == "limit_rpm" && len(sensors) == 0:
		case a.Sensor != "" && !concerns(sensors, a.Sensor):
		case slices.Contains(threshold.StandIns, a.Key):
			if standsIn(sensors, a) {
				standIns = append(standIns, a.String())
			}
		default:
			defaults = append(defaults, a.String())
		}
	}
	return standIns, defaults
}

func concerns(sensors []*threshold.Sensor, name string) bool {
	return slices.ContainsFunc(sensors, func(s *threshold.Sensor) bool { return s.Name == name })
}

func standsIn(sensors []*threshold.Sensor, a setup.Assumption) bool {
	return slices.ContainsFunc(sensors, func(s *threshold.Sensor) bool {
		return (a.Sensor == "" || a.Sensor == s.Name) && slices.Contains(s.Assumed, a.Key)
	})
}

// judged runs propose or check for every sensor and collects those that cannot
// be judged.
func (j *job) judged(m measured, one func([]captures.Reading, threshold.Options) (threshold.Result, error)) ([]threshold.Result, []report.Missing, error) {
	var results []threshold.Result
	var missing []report.Missing
	for _, s := range m.sensors {
		r, err := one(s.readings, j.setup.Of(s.name).Options)
		var few *threshold.TooFewError
		switch {
		case errors.As(err, &few):
			missing = append(missing, report.TooFew(few))
		case err != nil:
			return nil, nil, err
		default:
			results = append(results, r)
		}
	}
	return results, missing, nil
}

func sensorsOf(results []threshold.Result) []*threshold.Sensor {
	var list []*threshold.Sensor
	for _, r := range results {
		list = append(list, r.Sensor)
	}
	return list
}

// allClear tells whether every table is.
func allClear(results []threshold.Result) bool {
	return !slices.ContainsFunc(results, func(r threshold.Result) bool { return r.Judgement.Verdict != threshold.Clear })
}
