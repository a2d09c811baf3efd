package cli

import (
	"embed"
	"fmt"
	"os"
	"path/filepath"
	"slices"

	"github.com/spf13/cobra"

	"armcurve/cmd/internal/setup"
)

//go:embed sheets
var sheets embed.FS

func newStart(streams Streams) *cobra.Command {
	cmd := &cobra.Command{
		Use:   "start DIR",
		Short: "Make a job folder to fill in: setup, readings and table",
		Long: `Start writes three files into a folder: armcurve.toml for what is known of the
engine and its inputs, readings.csv for the readings, table.csv for the table
that is in the controller. Each explains itself.`,
		Example: "  armcurve start hillclimb",
		Args: func(_ *cobra.Command, args []string) error {
			names := slices.DeleteFunc(slices.Clone(args), func(name string) bool { return name == "" })
			if len(names) != 1 || len(args) != len(names) {
				return hint(fmt.Errorf("found %d names; want the name of one folder", len(names)), "armcurve start DIR")
			}
			return nil
		},
	}
	var o output
	cmd.Flags().BoolVar(&o.force, "force", false, "overwrite existing files")
	cmd.RunE = func(_ *cobra.Command, args []string) error { return start(streams, args[0], &o) }
	return cmd
}

// namedFile is a file to be written.
type namedFile struct {
	name    string
	content []byte
}

func start(streams Streams, dir string, o *output) error {
	readings, err := sheets.ReadFile("sheets/readings.csv")
	if err != nil {
		return err
	}
	table, err := sheets.ReadFile("sheets/table.csv")
	if err != nil {
		return err
	}
	list := []namedFile{{setup.DefaultFile, []byte(setup.Template)}, {"readings.csv", readings}, {"table.csv", table}}
	if err := writeFolder(dir, list, o); err != nil {
		return err
	}
	fmt.Fprintf(streams.Out, `%[1]s is ready:
  %[2]s  what is known of the engine, its sensors and their inputs
  readings.csv   fill in three speeds or more, and the noise; cautions on top
  table.csv      the table that is in the controller now, to check it
next: cd %[1]s, fill in readings.csv, then armcurve propose readings.csv
`, dir, setup.DefaultFile)
	return nil
}

// writeFolder writes files into a folder, all of them or none.
func writeFolder(dir string, list []namedFile, o *output) error {
	if info, err := os.Stat(dir); err == nil && !info.IsDir() {
		return fmt.Errorf("%s: this is a file; want the name of a folder", dir)
	}
	if err := os.MkdirAll(dir, 0o755); err != nil {
		return fileError(dir, err)
	}
	for _, f := range list {
		if err := o.free(filepath.Join(dir, f.name)); err != nil {
			return err
		}
	}
	for _, f := range list {
		if err := writeWhole(filepath.Join(dir, f.name), f.content); err != nil {
			return err
		}
	}
	return nil
}
