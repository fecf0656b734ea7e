package main

import (
	"fmt"
	"runtime"
	"runtime/debug"

	"github.com/spf13/cobra"
)

// language is the version of the worksheet language that is read; a test holds
// it to the parser.
const language = 1

func newVersion() *cobra.Command {
	return &cobra.Command{
		Use:   "version",
		Short: "Print the version of this program",
		Long: `Print the version of this program, the revision it was built from, the Go
version that built it, and the version of the worksheet language it reads.`,
		Example:           "  gearleaf version",
		Args:              cobra.NoArgs,
		ValidArgsFunction: cobra.NoFileCompletions,
		RunE: func(cmd *cobra.Command, _ []string) error {
			info, _ := debug.ReadBuildInfo()
			_, err := fmt.Fprintln(cmd.OutOrStdout(), versionText(info))
			return err
		},
	}
}

// versionText words what the build knows about itself.
func versionText(info *debug.BuildInfo) string {
	version, revision := "unknown version", ""
	if info != nil {
		version = info.Main.Version
		for _, s := range info.Settings {
			switch {
			case s.Key == "vcs.revision":
				revision += ", revision " + s.Value
			case s.Key == "vcs.modified" && s.Value == "true":
				revision += " with changes"
			}
		}
	}
	return fmt.Sprintf("gearleaf %s%s\n%s %s/%s\nworksheet language %d",
		version, revision, runtime.Version(), runtime.GOOS, runtime.GOARCH, language)
}

// versionWord is the version alone.
func versionWord() string {
	info, ok := debug.ReadBuildInfo()
	if !ok {
		return "unknown"
	}
	return info.Main.Version
}
