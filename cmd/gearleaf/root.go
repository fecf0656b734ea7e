package main

import (
	"errors"
	"fmt"
	"io"
	"strings"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"
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
	newCompare,
	newLog,
	newFit,
	newPasses,
	newCheck,
	newFmt,
	newTrace,
	newExport,
	newReadback,
	newFunctions,
	newUnits,
	newVersion,
}

const rootLong = `Gearleaf computes worksheets: plain text files in which a tuner keeps the
givens of a drag-race motorcycle and the formulas that lean on them. Change one
given and see everything it reaches, with units checked and every number
computed twice by two evaluators.

Figures are a plan, not permission: the rule book, the makers' limits and
licensed practice come first.

Exit status: 0 computed; 1 computed, but a limit is broken or a value is at
fault; 2 not computed, with the reason on standard error.`

const rootExample = `  gearleaf new sprocket-change                          # a ready worksheet to start from
  gearleaf calc sprocket-change.leaf                    # everything on it, computed
  gearleaf change sprocket-change.leaf rear_sprocket=44 # before and after a change
  gearleaf trace sprocket-change.leaf chain_links       # how one number came about`

func newRoot() *cobra.Command {
	root := &cobra.Command{
		Use:           "gearleaf",
		Short:         "Compute tuning worksheets and see what a change reaches",
		Long:          rootLong,
		Example:       rootExample,
		SilenceErrors: true,
		SilenceUsage:  true,
	}
	root.CompletionOptions.HiddenDefaultCmd = false
	root.SetFlagErrorFunc(flagError)
	for _, construct := range constructors {
		root.AddCommand(construct())
	}
	return root
}

// The outcomes that have been told in full when a command returns them.
var (
	errTrouble = errors.New("computed, with a limit broken or a value at fault")
	errRefused = errors.New("not computed")
)

// run executes one command line and returns the exit status.
func run(args []string, in io.Reader, out, errs io.Writer) int {
	root := newRoot()
	root.SetArgs(args)
	root.SetIn(in)
	root.SetOut(out)
	root.SetErr(errs)
	switch err := root.Execute(); {
	case err == nil:
		return 0
	case errors.Is(err, errTrouble):
		return 1
	case errors.Is(err, errRefused):
		return 2
	default:
		fmt.Fprintf(errs, "gearleaf: %v\n", err)
		return 2
	}
}

// flagError adds the nearest flag to the complaint about an unknown one.
func flagError(cmd *cobra.Command, err error) error {
	var flags []string
	cmd.Flags().VisitAll(func(f *pflag.Flag) { flags = append(flags, "--"+f.Name) })
	word, found := strings.CutPrefix(err.Error(), "unknown flag: ")
	if !found {
		return err
	}
	return fmt.Errorf("%w%s", err, didYouMean(word, flags))
}
