package cli

import (
	"errors"
	"fmt"
	"io"
	"os"
	"slices"
	"strings"

	"github.com/spf13/cobra"
)

// Streams are the outside world of a run.
type Streams struct {
	In       io.Reader
	Out, Err io.Writer
	// Terminal tells that Err is one, where a line may be written over.
	Terminal bool

	args []string // the command line
}

// System returns the streams of the process.
func System() Streams {
	info, err := os.Stderr.Stat()
	terminal := err == nil && info.Mode()&os.ModeCharDevice != 0
	return Streams{In: os.Stdin, Out: os.Stdout, Err: os.Stderr, Terminal: terminal}
}

// Exit codes.
const (
	exitFine     = 0
	exitNotClear = 1 // another verdict, or no table can be proposed
	exitBad      = 2 // bad input or usage
)

// errNotClear ends a command whose result, already written, is not the good
// one.
var errNotClear = errors.New("not clear")

// hinted is an error that ends in a next step.
type hinted struct {
	error
	hint string
}

func (h hinted) Unwrap() error { return h.error }

func hint(err error, text string) error { return hinted{err, text} }

// Run runs the command line and returns the exit code.
func Run(args []string, streams Streams) int {
	streams.args = args
	root := newRoot(streams, commandsFor(args))
	root.SetArgs(args)
	root.SetIn(streams.In)
	root.SetOut(streams.Out)
	root.SetErr(streams.Err)
	err := root.Execute()
	switch {
	case err == nil:
		return exitFine
	case errors.Is(err, errNotClear):
		return exitNotClear
	}
	fmt.Fprintln(streams.Err, err)
	for _, text := range hints(err) {
		fmt.Fprintln(streams.Err, "hint: "+text)
	}
	return exitBad
}

// hints are those of an error and of all errors in it, each once.
func hints(err error) []string {
	var list []string
	switch e := err.(type) {
	case hinted:
		list = append(hints(e.error), e.hint)
	case interface{ Unwrap() []error }:
		for _, part := range e.Unwrap() {
			list = append(list, hints(part)...)
		}
	case interface{ Unwrap() error }:
		list = hints(e.Unwrap())
	}
	var distinct []string
	for _, text := range list {
		if !slices.Contains(distinct, text) {
			distinct = append(distinct, text)
		}
	}
	return distinct
}

// Version of the program.
const Version = "0.1.0"

// command is a command by its name.
type command struct {
	name string
	make func(Streams) *cobra.Command
}

// commands are all of them.
func commands() []command {
	return []command{
		{"propose", newPropose}, {"check", newCheck}, {"compare", newCompare}, {"measure", newMeasure},
		{"investigate", newInvestigate}, {"start", newStart}, {"demo", newDemo}, {"simulate", newSimulate},
	}
}

// commandsFor are those that a command line can ask for: most begin with a
// command's name, and the flags of the others take as long to set up as a small
// job does.
func commandsFor(args []string) []command {
	all := commands()
	i := slices.IndexFunc(all, func(c command) bool { return len(args) > 0 && args[0] == c.name })
	if i < 0 {
		return all
	}
	return all[i : i+1]
}

func newRoot(streams Streams, commands []command) *cobra.Command {
	root := &cobra.Command{
		Use:   "armcurve",
		Short: "Arming thresholds for reluctor sensors, from what was measured",
		Long: `armcurve finds the window between the noise and the weakest tooth of a crank or
cam sensor at every engine speed, and places or judges a table of arming
thresholds in it.

Before cranking: injection and ignition disabled, both of them; clear of belts,
fans and flywheel; neutral, brake on; an extinguisher at hand.

After a swap, check first: is it safe now? compare tells what changed.`,
		Version:       Version,
		SilenceUsage:  true,
		SilenceErrors: true,
		Args:          noCommand,
		RunE:          func(cmd *cobra.Command, _ []string) error { return cmd.Help() },
	}
	root.SetFlagErrorFunc(func(cmd *cobra.Command, err error) error {
		text, _, _ := strings.Cut(err.Error(), ": strconv.") // of use to programmers only
		return hint(errors.New(text), cmd.CommandPath()+" --help lists the flags")
	})
	root.CompletionOptions.HiddenDefaultCmd = true
	root.SuggestionsMinimumDistance = 2
	root.SetUsageTemplate(strings.ReplaceAll(root.UsageTemplate(), "Flags.FlagUsages ", fmt.Sprintf("Flags.FlagUsagesWrapped %d ", helpWidth)))
	for _, c := range commands {
		root.AddCommand(c.make(streams))
	}
	return root
}

// helpWidth is how wide the lists of flags are, in columns.
const helpWidth = 80

// noCommand answers a file, or a slip of the finger, where a command belongs.
func noCommand(cmd *cobra.Command, args []string) error {
	if len(args) == 0 {
		return nil
	}
	if _, err := os.Stat(args[0]); err == nil {
		command, kindErr := commandFor(args[0])
		if kindErr != nil {
			return kindErr
		}
		return hint(fmt.Errorf("%s is no command: want one before it", args[0]), command)
	}
	text := "armcurve --help lists the commands"
	if near := cmd.SuggestionsFor(args[0]); len(near) > 0 {
		text = "did you mean " + strings.Join(near, " or ") + "? " + text
	}
	return hint(fmt.Errorf("unknown command %q", args[0]), text)
}
