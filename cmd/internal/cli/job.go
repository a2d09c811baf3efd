package cli

import (
	"errors"
	"os"
	"path/filepath"
	"slices"

	"github.com/spf13/cobra"

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
	noise     []string // captures in which everything is noise
	keeping   keeping
	output    output

	setup     setup.Setup
	setupText string
}

func newJob(streams Streams, cmd *cobra.Command) *job {
	j := &job{streams: streams}
	cmd.Flags().SortFlags = false // one that says "the same" follows what it speaks of
	cmd.Flags().StringVar(&j.condition, "condition", "", "use the peaks of this `condition`, where readings name several")
	cmd.Flags().StringArrayVar(&j.noise, "noise", nil, "`capture` of the stopped engine, in which everything is noise (repeatable)")
	j.output.bind(cmd)
	j.flags = setup.AddFlags(cmd, setup.Input, setup.Engine, setup.Margins, setup.Files)
	return j
}

// begin loads the setup and refuses outputs that cannot be written.
func (j *job) begin(inputs []string) (err error) {
	if err = j.load(readFile); err != nil {
		return err
	}
	j.keeping.pictures = j.output.page != ""
	return j.output.check(append(withContents(inputs), j.setup.File))
}

// load reads the setup and keeps its text.
func (j *job) load(read func(name string) ([]byte, error)) (err error) {
	j.setup, err = j.flags.Load(func(name string) ([]byte, error) {
		content, err := read(name)
		j.setupText = string(content)
		return content, err
	})
	return err
}

// withContents adds to folders the files in them.
func withContents(names []string) []string {
	list := slices.Clone(names)
	for _, name := range names {
		entries, err := os.ReadDir(name)
		if err != nil {
			continue // a file, or an error for whoever reads it
		}
		for _, entry := range entries {
			list = append(list, filepath.Join(name, entry.Name()))
		}
	}
	return list
}

// read reads the named files.
func (j *job) read(names []string) (measured, error) {
	list, repeated, err := sources(names, j.streams.In)
	if err != nil {
		return measured{}, err
	}
	for _, name := range j.noise {
		still := file(name)
		still.noiseOnly = true
		list = append(list, still)
	}
	if j.streams.Terminal && !j.output.quiet {
		list = watched(list, j.streams.Err)
	}
	m, err := readAll(list, &j.setup, j.condition, j.keeping)
	m.repeated = repeated
	return m, err
}

// context is what stands in the report beside the result. The settings of the
// keys in unused had no say in it.
func (j *job) context(m measured, sensors []*threshold.Sensor, unused []string) report.Context {
	c := report.Context{ReadAs: m.readAs, Findings: slices.Concat(m.repeated, m.findings), Command: commandLine(j.streams.args), SetupText: j.setupText, Waves: m.waves}
	if j.setup.File != "" {
		c.Setup = "setup from " + j.setup.File
	}
	c.Assumed = m.notes
	if len(sensors) > 0 {
		standIns, defaults := assumed(&j.setup, sensors, unused)
		c.Assumed, c.Defaults = append(c.Assumed, standIns...), defaults
	}
	return c
}

// Keys of settings that have no say in a command's result: replayOnly where no
// wave is replayed, axisOnly where no speeds are chosen, tableOnly where there
// is no table, weakestOnly where no weakest tooth is reckoned.
var (
	replayOnly  = []string{"counts_on", "speed_from", "filter_hz"}
	axisOnly    = []string{"rows", "axis_step_rpm"}
	weakestOnly = []string{"weakest_ratio", "cranking_ripple", "limit_rpm"}
	tableOnly   = []string{
		"threshold_min_v", "threshold_max_v", "step_v", "between_rows", "hysteresis_v", "clamp_v",
		"signal", "signal_cranking", "noise", "preferred_fraction",
	}
)

// assumed tells what stood in for a measurement, and the other defaults.
func assumed(s *setup.Setup, sensors []*threshold.Sensor, unused []string) (standIns, defaults []string) {
	for _, sensor := range sensors {
		if slices.Contains(sensor.Assumed, "wheel") {
			standIns = append(standIns, setup.Assumption{
				Sensor: sensor.Name, Flag: "--wheel",
				Text: "the " + sensor.Name + " wheel is not stated: no hump inside a gap is reckoned with",
			}.String())
		}
	}
	for _, a := range s.Assumed {
		switch {
		case slices.Contains(replayOnly, a.Key) || slices.Contains(unused, a.Key):
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
func (j *job) judged(m measured, one func(sensorReadings) (threshold.Result, error)) ([]threshold.Result, []report.Missing, error) {
	var results []threshold.Result
	missing := m.refused
	for _, s := range m.sensors {
		if m.isRefused(s.name) {
			continue
		}
		r, err := one(s)
		var few *threshold.TooFewError
		switch {
		case errors.As(err, &few):
			missing = append(missing, report.TooFew(few, s.readings))
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
