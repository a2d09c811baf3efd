package cli

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"path/filepath"
	"strings"

	"github.com/spf13/cobra"

	"armcurve/captures"
	"armcurve/captures/simulate"
	"armcurve/cmd/internal/report"
	"armcurve/cmd/internal/setup"
)

func newSimulate(streams Streams) *cobra.Command {
	cmd := &cobra.Command{
		Use:   "simulate SCENARIO DIR",
		Short: "Captures with known truth, to practise on",
		Long: `Simulate writes the captures of an invented engine into a folder, with a setup
and the tables of its inputs, and the truth beside: NAME.truth.json what is true
of it, NAME.teeth.csv every tooth.`,
		Example: "  armcurve simulate --list\n  armcurve simulate healthy-sweep practice",
	}
	var list bool
	var o output
	cmd.Flags().BoolVar(&list, "list", false, "list the scenarios")
	cmd.Flags().BoolVar(&o.force, "force", false, "overwrite existing files")
	cmd.Args = func(_ *cobra.Command, args []string) error {
		if !list && len(args) != 2 {
			return hint(fmt.Errorf("found %d names; want a scenario and a folder", len(args)), "armcurve simulate --list")
		}
		return nil
	}
	cmd.RunE = func(_ *cobra.Command, args []string) error {
		if list {
			listScenarios(streams.Out)
			return nil
		}
		return simulateInto(streams.Out, args[0], args[1], &o)
	}
	return cmd
}

func listScenarios(w io.Writer) {
	for _, s := range simulate.Scenarios() {
		fmt.Fprintf(w, "%s\n", s.Name)
		for _, line := range report.Wrap(s.Text, helpWidth-4) {
			fmt.Fprintf(w, "    %s\n", line)
		}
	}
}

func simulateInto(w io.Writer, name, dir string, o *output) error {
	scenario, err := simulate.FindScenario(name)
	if err != nil {
		return hint(err, "armcurve simulate --list")
	}
	setupText, tables, err := beside(scenario)
	if err != nil {
		return err
	}
	files := append([]namedFile{{setup.DefaultFile, setupText}}, tables...)
	for _, rig := range scenario.Captures {
		for _, ending := range captureEndings {
			if err := o.free(filepath.Join(dir, rig.Name+ending)); err != nil {
				return err
			}
		}
	}
	if err := writeFolder(dir, files, o); err != nil {
		return err
	}
	fmt.Fprintf(w, "%s: %s\n", scenario.Name, scenario.Text)
	for _, f := range files {
		fmt.Fprintln(w, "  "+filepath.Join(dir, f.name))
	}
	for _, rig := range scenario.Captures {
		if err := writeCapture(filepath.Join(dir, rig.Name), rig); err != nil {
			return err
		}
		fmt.Fprintf(w, "  %s (seed %d)\n", filepath.Join(dir, rig.Name+captureEndings[0]), rig.Seed)
	}
	fmt.Fprintf(w, "next: cd %s, then\n  %s\n", dir, strings.Join(commandsOn(scenario), "\n  "))
	return nil
}

// commandsOn are the commands for a scenario's captures: what goes wrong with
// its tables, or the table they give.
func commandsOn(s simulate.Scenario) []string {
	names := ""
	for _, rig := range s.Captures {
		names += " " + rig.Name + captureEndings[0]
	}
	if len(s.Tables) == 0 {
		return []string{"armcurve propose" + names}
	}
	var list []string
	for _, t := range s.Tables {
		command := "armcurve investigate" + names + " --table " + tableName(t)
		if t.Sensor != captures.Crank {
			command += " --sensor " + t.Sensor
		}
		list = append(list, command)
	}
	return list
}

func tableName(t simulate.Table) string { return t.Sensor + "_table.csv" }

// beside are the files that its owner would have beside the captures.
func beside(s simulate.Scenario) (setupText []byte, tables []namedFile, err error) {
	var b strings.Builder
	fmt.Fprintf(&b, "# %s\n", s.Text)
	for _, sensor := range []struct{ name, wheel, channel string }{{"crank", s.Setup.CrankWheel, "crank_v"}, {"cam", s.Setup.CamWheel, "cam_v"}} {
		if sensor.wheel != "" {
			fmt.Fprintf(&b, "\n[%s]\nwheel = %q\n", sensor.name, sensor.wheel)
			if s.Setup.CamWheel != "" {
				fmt.Fprintf(&b, "channel = %q\n", sensor.channel)
			}
		}
	}
	fmt.Fprintf(&b, "\n[engine]\ncranking_rpm = %g\nlimit_rpm = %g\n", s.Setup.CrankingRPM, s.Setup.LimitRPM)
	for _, t := range s.Tables {
		var table bytes.Buffer
		if err := t.WriteCSV(&table); err != nil {
			return nil, nil, err
		}
		tables = append(tables, namedFile{tableName(t), table.Bytes()})
	}
	return []byte(b.String()), tables, nil
}

// captureEndings are the files of one capture.
var captureEndings = []string{".csv", ".truth.json", ".teeth.csv"}

func writeCapture(name string, rig simulate.Rig) error {
	source, err := simulate.Open(rig)
	if err != nil {
		return err
	}
	truth := simulate.Listen(source)
	return errors.Join(
		writeStream(name+captureEndings[0], func(w io.Writer) error { return simulate.WriteCSV(w, source) }),
		writeStream(name+captureEndings[1], truth.WriteJSON),
		writeStream(name+captureEndings[2], truth.WriteTeeth),
	)
}
