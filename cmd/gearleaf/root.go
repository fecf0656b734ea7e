package main

import (
	"errors"
	"fmt"
	"io"
	"strings"

	"github.com/spf13/cobra"
)

// constructors makes the commands, in the order in which help lists them. A
// new command is one file with its constructor, and one entry here.
var constructors = []func() *cobra.Command{
	newNew,
	newCalc,
	newChange,
	newSweep,
	newSolve,
	newBest,
	newSpread,
	newWorth,
	newCompare,
	newLog,
	newFit,
	newPasses,
	newWatch,
	newServe,
	newCheck,
	newFmt,
	newLSP,
	newTrace,
	newExport,
	newReadback,
	newFunctions,
	newUnits,
	newVersion,
	newMan,
}

const rootLong = `Gearleaf computes worksheets: plain text files in which a tuner keeps the givens
of a drag-race motorcycle and the formulas that depend on them. Change one given
and see everything it affects, with units checked and every number computed
twice by two evaluators.

Figures are a plan, not permission: the rule book, the makers' limits and
licensed practice come first.

Exit status: 0 computed; 1 computed, but a limit is broken or a value is at
fault; 2 not computed, with the reason on standard error.`

const rootExample = `  gearleaf new sprocket-change bike.leaf      # a ready worksheet: all examples
                                              # of the commands use it
  gearleaf calc bike.leaf                     # everything on it, computed
  gearleaf trace bike.leaf chain_links        # how a value was computed
  gearleaf change bike.leaf rear_sprocket=44  # before and after`

func newRoot() *cobra.Command {
	root := &cobra.Command{
		Use:           "gearleaf",
		Short:         "Compute tuning worksheets and see what a change affects",
		Long:          rootLong,
		Example:       rootExample,
		SilenceErrors: true,
		SilenceUsage:  true,

		DisableFlagsInUseLine: true,
	}
	root.CompletionOptions.HiddenDefaultCmd = false
	layHelp(root)
	for _, construct := range constructors {
		root.AddCommand(construct())
	}
	root.SetHelpCommand(newHelp())
	explainUsage(root)
	return root
}

// addCompletion adds the command that writes scripts for shells. It writes to
// the present output of root.
func addCompletion(root *cobra.Command) {
	root.InitDefaultCompletionCmd()
	for _, cmd := range root.Commands() {
		if cmd.Name() != "completion" {
			continue
		}
		cmd.Short = "Write the completion script of a shell"
		cmd.Long = `Write the script by which a shell completes commands, flags, files, and the
names of the worksheet on the line. The help of each shell says where it goes.`
		cmd.Example = "  gearleaf completion bash --help"
		cmd.Args, cmd.RunE = cobra.ArbitraryArgs, needsCommand
		for _, shell := range cmd.Commands() {
			shell.Short = "for " + shell.Name()
		}
	}
}

// Outcomes that have already been reported in full when a command returns them.
var (
	errTrouble = errors.New("computed, with a limit broken or a value at fault")
	errRefused = errors.New("not computed")
)

// run executes one command line and returns the exit status.
func run(args []string, in io.Reader, out, errs io.Writer) int {
	root := newRoot()
	page, messages := newScreen(out, pipedWidth), newScreen(errs, 0)
	if len(args) > 0 && (args[0] == "completion" || strings.HasPrefix(args[0], cobra.ShellCompRequestCmd)) {
		page.width = 0 // a shell reads it
	}
	root.SetArgs(args)
	root.SetIn(in)
	root.SetOut(page)
	root.SetErr(messages)
	addCompletion(root)
	err := admitArgs(args)
	if err == nil {
		err = root.Execute()
	}
	if lost := page.end(); lost != nil {
		err = fmt.Errorf("the report could not be written: %w", lost)
	}
	status := exitStatus(messages, err)
	if messages.end() != nil {
		return 2
	}
	return status
}

// exitStatus prints an outcome that is not reported yet, and returns the exit
// status.
func exitStatus(messages io.Writer, err error) int {
	switch {
	case err == nil:
		return 0
	case errors.Is(err, errTrouble):
		return 1
	case errors.Is(err, errRefused):
		return 2
	}
	complain(messages, err)
	return 2
}

// complain prints an error that is not a diagnostic of a worksheet.
func complain(messages io.Writer, err error) {
	fmt.Fprintf(messages, "gearleaf: %v\n", explainSystem(err))
}

// admitArgs refuses a line end within an argument, with which the name of a
// file could look like a line of output. A value, as in note=TEXT, may have
// one.
func admitArgs(args []string) error {
	for _, arg := range args {
		if strings.ContainsAny(arg, "\r\n") && !strings.Contains(arg, "=") {
			return fmt.Errorf("the argument %q contains a line end", arg)
		}
	}
	return nil
}
