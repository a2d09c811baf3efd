package cli

import (
	"bytes"
	"embed"
	"errors"
	"fmt"
	"io"
	"strings"

	"github.com/spf13/cobra"

	"armcurve/cmd/internal/report"
)

//go:embed demo
var demoFiles embed.FS

const demoSetup = `# An invented car: a 36-1 wheel on the crank.
[crank]
wheel = "36-1"
diameter_mm = 160
step_v = 0.01
hysteresis_v = 0.04

[engine]
cranking_rpm = "180-220"
limit_rpm = 6500
`

func newDemo(streams Streams) *cobra.Command {
	cmd := &cobra.Command{
		Use:   "demo",
		Short: "The whole job on built-in readings of an invented car",
		Long: `Demo proposes a table from built-in readings, checks an older table against
them, and compares the readings with those after a sensor swap. With --save DIR
it writes the files it used, to try the commands on.`,
		Args: func(_ *cobra.Command, args []string) error {
			if len(args) > 0 {
				return hint(fmt.Errorf("found %s; demo reads no files", args[0]), "armcurve demo --save DIR writes the files that it uses")
			}
			return nil
		},
	}
	var save string
	var o output
	cmd.Flags().StringVar(&save, "save", "", "write the files of the demo into this `folder`")
	cmd.Flags().BoolVar(&o.force, "force", false, "overwrite existing files")
	cmd.Flags().StringVar(&o.page, "report", "", "write a page with pictures into this `file`, .html")
	cmd.RunE = func(*cobra.Command, []string) error {
		if save != "" {
			return saveDemo(streams, save, &o)
		}
		return demo(streams, &o)
	}
	return cmd
}

// demoStep is one command of the demo.
type demoStep struct {
	command string
	run     func(j *job) error
}

var demoSteps = []demoStep{
	{"armcurve propose readings.csv", func(j *job) error {
		m, err := j.readDemo("readings.csv")
		if err != nil {
			return err
		}
		return j.proposeFrom(m)
	}},
	{"armcurve check --table table.csv readings.csv", func(j *job) error {
		m, err := j.readDemo("readings.csv")
		if err != nil {
			return err
		}
		return j.checkDemo(m)
	}},
	{"armcurve compare --before readings.csv --after swapped.csv", func(j *job) error {
		before, err := j.readDemo("readings.csv")
		if err != nil {
			return err
		}
		after, err := j.readDemo("swapped.csv")
		if err != nil {
			return err
		}
		return j.compareThese(before, after, comparing{})
	}},
}

func demo(streams Streams, o *output) error {
	o.format = formats[0]
	if err := o.check(nil); err != nil {
		return err
	}
	var documents []report.Document
	for i, step := range demoSteps {
		if i > 0 {
			fmt.Fprintln(streams.Out)
		}
		fmt.Fprintf(streams.Out, "$ %s\n\n", step.command)
		d, err := runDemo(streams, step)
		if err != nil {
			return err
		}
		documents = append(documents, d)
	}
	if err := o.writePage(documents...); err != nil {
		return err
	}
	fmt.Fprintf(streams.Out, "\nThe files: armcurve demo --save DIR\n")
	return nil
}

// runDemo runs one step. That a table is not clear is part of the demo.
func runDemo(streams Streams, step demoStep) (report.Document, error) {
	streams.args = strings.Fields(step.command)[1:]
	j := newJob(streams, &cobra.Command{})
	read := func(string) ([]byte, error) { return []byte(demoSetup), nil }
	if err := j.load(read); err != nil {
		return report.Document{}, err
	}
	if err := step.run(j); err != nil && !errors.Is(err, errNotClear) {
		return report.Document{}, err
	}
	return j.output.document, nil
}

func demoSource(name string) source {
	return source{name: name, open: func() (io.ReadCloser, error) {
		content, err := demoFiles.ReadFile("demo/" + name)
		return io.NopCloser(bytes.NewReader(content)), err
	}}
}

func (j *job) readDemo(name string) (measured, error) {
	return readAll([]source{demoSource(name)}, &j.setup, "", keeping{})
}

func (j *job) checkDemo(m measured) error {
	given, err := readTableFrom(demoSource("table.csv"), &j.setup)
	if err != nil {
		return err
	}
	return j.checkAgainst(given, false, m)
}

func saveDemo(streams Streams, dir string, o *output) error {
	list := []namedFile{{"armcurve.toml", []byte(demoSetup)}}
	for _, name := range []string{"readings.csv", "swapped.csv", "table.csv"} {
		content, err := demoFiles.ReadFile("demo/" + name)
		if err != nil {
			return err
		}
		list = append(list, namedFile{name, content})
	}
	if err := writeFolder(dir, list, o); err != nil {
		return err
	}
	fmt.Fprintf(streams.Out, "the demo's files are in %[1]s: cd %[1]s, then armcurve propose readings.csv\n", dir)
	return nil
}
