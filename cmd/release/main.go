// Command release builds the archives of a release: for linux, macOS and
// Windows on amd64 and arm64, the same bytes every time.
//
//	go run ./cmd/release -o dist
//
// Each archive holds the program, its licence and those of all modules it is
// made of, manual pages and completions made from the commands, the manual as
// HTML, the ready worksheets and the files for editors. Beside the archives
// are their checksums (SHA256SUMS), the licences of the modules
// (licences.md) and what each module adds to the size of the program
// (size.md).
//
// It is our own program: the kept tool for this, goreleaser, is larger than
// Gearleaf with all its modules, and asks the network what it needs.
package main

import (
	"errors"
	"flag"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"runtime"
	"strings"
)

// systems are what a release is built for.
var systems = []string{"linux/amd64", "linux/arm64", "darwin/amd64", "darwin/arm64", "windows/amd64", "windows/arm64"}

// sumsFile holds the checksums of a release.
const sumsFile = "SHA256SUMS"

// mostBytes bounds the stripped program.
const mostBytes = 24_000_000

func main() {
	out := flag.String("o", "dist", "the `folder` to write, which is made anew")
	only := flag.String("only", "", "build for these `systems` alone, as in linux/amd64,windows/arm64")
	flag.Parse()
	if *only != "" {
		systems = strings.Split(*only, ",")
	}
	if err := release(*out); err != nil {
		fmt.Fprintln(os.Stderr, "release:", err)
		os.Exit(1)
	}
}

// emptied makes the folder for the archives anew. It takes away an earlier
// release, and refuses a folder that holds anything else.
func emptied(out string) error {
	entries, err := os.ReadDir(out)
	if err != nil && !errors.Is(err, os.ErrNotExist) {
		return err
	}
	if len(entries) > 0 {
		if _, err := os.Stat(filepath.Join(out, sumsFile)); err != nil {
			return fmt.Errorf("%s holds files that are no release: name a new folder", out)
		}
		if err := os.RemoveAll(out); err != nil {
			return err
		}
	}
	return os.MkdirAll(out, 0o755)
}

// release makes everything and says what it has made.
func release(out string) error {
	if _, err := os.Stat("cmd/gearleaf/main.go"); err != nil {
		return fmt.Errorf("run it in the top folder of the project: %w", err)
	}
	if err := emptied(out); err != nil {
		return err
	}
	work, err := os.MkdirTemp("", "release-")
	if err != nil {
		return err
	}
	defer os.RemoveAll(work)
	here := filepath.Join(work, "gearleaf")
	if err := build(here, runtime.GOOS+"/"+runtime.GOARCH, false); err != nil {
		return err
	}
	common, err := commonFiles(here)
	if err != nil {
		return err
	}
	modules, err := modules()
	if err != nil {
		return err
	}
	licences, report, err := licenceFiles(modules)
	if err != nil {
		return err
	}
	common = append(common, licences...)
	version, err := version(here)
	if err != nil {
		return err
	}
	var sums strings.Builder
	for _, system := range systems {
		line, err := archive(out, work, version, system, common)
		if err != nil {
			return fmt.Errorf("%s: %w", system, err)
		}
		sums.WriteString(line)
	}
	share, err := sizes(here, modules)
	if err != nil {
		return err
	}
	for name, text := range map[string]string{sumsFile: sums.String(), "licences.md": report, "size.md": share} {
		if err := os.WriteFile(filepath.Join(out, name), []byte(text), 0o644); err != nil {
			return err
		}
	}
	fmt.Print(sums.String())
	return nil
}

// build makes the program for a system; stripped, it has neither symbols nor
// lines. Nothing of this machine gets into it.
func build(path, system string, stripped bool) error {
	goos, goarch, _ := strings.Cut(system, "/")
	flags := "-buildid="
	if stripped {
		flags = "-s -w " + flags
	}
	cmd := exec.Command("go", "build", "-trimpath", "-buildvcs=false", "-ldflags", flags, "-o", path, "./cmd/gearleaf")
	cmd.Env = append(os.Environ(), "GOOS="+goos, "GOARCH="+goarch, "CGO_ENABLED=0", "GOAMD64=v1", "GOEXPERIMENT=", "GOFLAGS=")
	if text, err := cmd.CombinedOutput(); err != nil {
		return fmt.Errorf("%w: %s", err, text)
	}
	return nil
}

// version asks the program for its version.
func version(program string) (string, error) {
	text, err := output(program, "version")
	if err != nil {
		return "", err
	}
	words := strings.Fields(text)
	if len(words) < 2 || words[0] != "gearleaf" {
		return "", fmt.Errorf("the program does not say its version: %q", text)
	}
	return strings.TrimSuffix(words[1], ","), nil
}

// output runs a program and returns what it prints.
func output(program string, args ...string) (string, error) {
	cmd := exec.Command(program, args...)
	cmd.Stderr = os.Stderr
	text, err := cmd.Output()
	if err != nil {
		return "", fmt.Errorf("%s %s: %w", filepath.Base(program), strings.Join(args, " "), err)
	}
	return string(text), nil
}
