package main

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"

	"gearleaf/templates"
)

// explainUsage makes the errors of a command line name the command, the error
// and the correction.
func explainUsage(root *cobra.Command) {
	root.SetFlagErrorFunc(flagError)
	root.Args = cobra.ArbitraryArgs
	root.RunE = func(cmd *cobra.Command, args []string) error {
		if len(args) == 0 {
			return cmd.Help()
		}
		return noCommand(cmd, args[0])
	}
	root.PersistentPreRunE = func(cmd *cobra.Command, _ []string) error {
		if err := cmd.ValidateRequiredFlags(); err != nil {
			return missingFlags(cmd)
		}
		if err := cmd.ValidateFlagGroups(); err != nil {
			return flagGroup(cmd, err)
		}
		return nil
	}
	countArgs(root)
}

// noCommand reports that cmd has no command of that name, with a similar one.
func noCommand(cmd *cobra.Command, name string) error {
	switch {
	case !cmd.HasSubCommands():
		return fmt.Errorf("%s has no command %q below it%s", commandName(cmd), name, helpHint(cmd))
	case !cmd.HasParent():
		if err := worksheetForCommand(name); err != nil {
			return err
		}
	}
	full := strings.TrimPrefix(cmd.CommandPath()+" "+name, cmd.Root().Name()+" ")
	return fmt.Errorf("there is no command %q%s", full, nearOr(name, append(commandNames(cmd), "help"), cmd.CommandPath()+" --help lists them"))
}

// worksheetForCommand is the error for a worksheet's name in the place of a
// command, with the command to use; nil if there is no worksheet of that name.
func worksheetForCommand(name string) error {
	bare := strings.TrimSuffix(name, ".leaf")
	if _, err := os.Stat(name); err == nil && bare != name {
		return fmt.Errorf("there is no command %q; gearleaf calc %s computes the worksheet", name, name)
	}
	if _, ok := templates.Find(bare); ok {
		return fmt.Errorf("there is no command %q; gearleaf new %s writes the worksheet of that name", name, bare)
	}
	return nil
}

// needsCommand runs a command that only has subcommands.
func needsCommand(cmd *cobra.Command, args []string) error {
	if len(args) > 0 {
		return noCommand(cmd, args[0])
	}
	return fmt.Errorf("%s is followed by %s%s", commandName(cmd), strings.Join(commandNames(cmd), " or "), helpHint(cmd))
}

// newHelp shows the help of a command, as --help does.
func newHelp() *cobra.Command {
	return &cobra.Command{
		Use:               "help [COMMAND...]",
		Short:             "Show the help of a command",
		Long:              "Show the help of a command: help calc prints what calc --help prints.",
		Example:           "  gearleaf help calc\n  gearleaf help passes add",
		ValidArgsFunction: completeCommands,
		RunE: func(cmd *cobra.Command, args []string) error {
			found, rest, err := cmd.Root().Find(args)
			if err != nil || len(rest) > 0 {
				return noCommand(found, strings.Join(rest, " "))
			}
			return found.Help()
		},
	}
}

// countArgs explains a wrong number of arguments of cmd and its subcommands.
func countArgs(cmd *cobra.Command) {
	for _, sub := range cmd.Commands() {
		countArgs(sub)
		if !sub.Runnable() {
			sub.Args = cobra.ArbitraryArgs
			sub.RunE = needsCommand
			continue
		}
		admits := sub.Args
		sub.Args = func(cmd *cobra.Command, args []string) error {
			if admits == nil || admits(cmd, args) == nil {
				return nil
			}
			if i := slices.IndexFunc(args, func(a string) bool { return strings.Contains(a, "=") }); i > 0 && cmd.Flags().Lookup("set") != nil {
				return fmt.Errorf("%s takes another value of a given by --set: --set %s", commandName(cmd), shellQuoted(args[i]))
			}
			return fmt.Errorf("%s was given %s; it is used as %s%s", commandName(cmd), counted(len(args), "argument", "arguments"), useLine(cmd), helpHint(cmd))
		}
	}
}

// plainArgument matches arguments that a shell does not change.
var plainArgument = regexp.MustCompile(`^[\w.,:%+=/-]+$`)

// shellQuoted writes an argument for a shell.
func shellQuoted(arg string) string {
	if plainArgument.MatchString(arg) {
		return arg
	}
	return "'" + strings.ReplaceAll(arg, "'", `'\''`) + "'"
}

// useLine is the form of a command line of cmd, without its flags.
func useLine(cmd *cobra.Command) string { return strings.TrimSuffix(cmd.UseLine(), " [flags]") }

// commandName is the name of cmd without the program's.
func commandName(cmd *cobra.Command) string {
	return strings.TrimPrefix(cmd.CommandPath(), cmd.Root().Name()+" ")
}

// helpHint refers to the examples.
func helpHint(cmd *cobra.Command) string { return "; " + cmd.CommandPath() + " --help shows examples" }

// missingFlags names the flags that cmd needs and was not given.
func missingFlags(cmd *cobra.Command) error {
	var missing []string
	cmd.Flags().VisitAll(func(f *pflag.Flag) {
		if _, required := f.Annotations[cobra.BashCompOneRequiredFlag]; required && !f.Changed {
			what, usage := pflag.UnquoteUsage(f)
			missing = append(missing, fmt.Sprintf("--%s %s (%s)", f.Name, what, usage))
		}
	})
	return fmt.Errorf("%s needs %s%s", commandName(cmd), strings.Join(missing, " and "), helpHint(cmd))
}

// groupNames matches the flags in an error of cobra, which names them in
// brackets.
var groupNames = regexp.MustCompile(`\[([^\]]*)\]`)

// flagGroup explains flags that exclude each other, or of which one is needed.
func flagGroup(cmd *cobra.Command, err error) error {
	names := groupNames.FindAllStringSubmatch(err.Error(), -1)
	if len(names) == 0 {
		return err
	}
	flags := strings.Fields(names[len(names)-1][1])
	for i := range flags {
		flags[i] = "--" + flags[i]
	}
	if strings.Contains(err.Error(), "at least one") {
		return fmt.Errorf("%s needs one of %s%s", commandName(cmd), strings.Join(flags, ", "), helpHint(cmd))
	}
	return fmt.Errorf("%s cannot be combined: use one of them", strings.Join(flags, " and "))
}

// flagError explains a flag that is unknown, has no value, or has a value of
// the wrong kind.
func flagError(cmd *cobra.Command, err error) error {
	var unknown *pflag.NotExistError
	var bare *pflag.ValueRequiredError
	var wrong *pflag.InvalidValueError
	switch {
	case errors.As(err, &unknown):
		if unknown.GetSpecifiedShortnames() != "" {
			return fmt.Errorf("there is no flag -%s%s", unknown.GetSpecifiedName(), helpHint(cmd))
		}
		var flags []string
		cmd.Flags().VisitAll(func(f *pflag.Flag) { flags = append(flags, "--"+f.Name) })
		name := "--" + unknown.GetSpecifiedName()
		hint := didYouMean(name, flags)
		if hint == "" {
			hint = helpHint(cmd)
		}
		return fmt.Errorf("there is no flag %s%s", name, hint)
	case errors.As(err, &bare):
		f := bare.GetFlag()
		what, usage := pflag.UnquoteUsage(f)
		return fmt.Errorf("--%s needs a value: --%s %s (%s)", f.Name, f.Name, what, usage)
	case errors.As(err, &wrong):
		f := wrong.GetFlag()
		return fmt.Errorf("--%s takes %s, not %q", f.Name, kindOfValue(f), wrong.GetValue())
	}
	return fmt.Errorf("%w%s", err, helpHint(cmd))
}

// kindOfValue describes the values of a flag.
func kindOfValue(f *pflag.Flag) string {
	switch f.Value.Type() {
	case "int":
		return "a whole number"
	case "uint64":
		return "a whole number from 0"
	case "float64":
		return "a number"
	case "bool":
		return "no value, or =true or =false"
	}
	what, _ := pflag.UnquoteUsage(f)
	return "a " + what
}

// explainSystem adds the failed action and the correction to an error of the
// operating system about a file.
func explainSystem(err error) error {
	var failed *fs.PathError
	if !errors.As(err, &failed) || failed.Error() != err.Error() {
		return err
	}
	folder, name := filepath.Split(failed.Path)
	switch {
	case strings.HasPrefix(name, ".gearleaf-"): // a file that is renamed when it is complete
		return fmt.Errorf("the folder %s cannot be written to: %w; name another one; nothing was written", filepath.Clean(folder), failed.Err)
	case failed.Op == "mkdir":
		return fmt.Errorf("the folder %s cannot be made: %w; name another one; nothing was written", failed.Path, failed.Err)
	}
	return fmt.Errorf("%s cannot be read or written: %w; check its name and who may use it", failed.Path, failed.Err)
}
