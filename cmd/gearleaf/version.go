package main

import (
	_ "embed" // CHANGES.md
	"fmt"
	"io"
	"runtime"
	"runtime/debug"
	"strings"

	"github.com/spf13/cobra"

	"gearleaf/formulas"
)

// language is the supported version of the worksheet language; a test compares
// it with the parser.
const language = 1

// changes is the log of changes; its first heading names this version.
//
//go:embed CHANGES.md
var changes string

func newVersion() *cobra.Command {
	var all bool
	cmd := &cobra.Command{
		Use:   "version",
		Short: "Print the version of this program",
		Long: `Print the version of this program, the revision it was built from, the Go
version that built it, and the versions of the worksheet language and of the
formula library. The library's version changes when a worksheet computes other
numbers than before.

--changes prints the changes, the latest version first, with newly refused input
and its repair.`,
		Example:           "  gearleaf version\n  gearleaf version --changes",
		Args:              cobra.NoArgs,
		ValidArgsFunction: cobra.NoFileCompletions,
		RunE: func(cmd *cobra.Command, _ []string) error {
			info, _ := debug.ReadBuildInfo()
			text := versionText(info) + "\n"
			if all {
				text = changes
			}
			_, err := io.WriteString(data(cmd.OutOrStdout()), text)
			return err
		},
	}
	cmd.Flags().BoolVar(&all, "changes", false, "print what has changed, version by version")
	return cmd
}

// programVersion is the latest version that the log of changes names.
func programVersion() string {
	_, rest, _ := strings.Cut(changes, "\n## ")
	heading, _, _ := strings.Cut(rest, "\n")
	version, _, _ := strings.Cut(heading, " ")
	return version
}

// versionText describes the build.
func versionText(info *debug.BuildInfo) string {
	revision := ""
	if info != nil {
		for _, s := range info.Settings {
			switch {
			case s.Key == "vcs.revision":
				revision += ", revision " + s.Value
			case s.Key == "vcs.modified" && s.Value == "true":
				revision += " with changes"
			}
		}
	}
	return fmt.Sprintf("gearleaf %s%s\n%s %s/%s\nworksheet language %d, formula library %d",
		programVersion(), revision, runtime.Version(), runtime.GOOS, runtime.GOARCH, language, formulas.Version)
}

// versionWord is the version alone.
func versionWord() string {
	info, ok := debug.ReadBuildInfo()
	if !ok {
		return "unknown"
	}
	return info.Main.Version
}
