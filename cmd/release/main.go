// Command release builds the archives of a release: for linux, macOS and
// Windows on amd64 and arm64, the same bytes every time.
//
//	go run ./cmd/release -o dist
//
// Each archive contains the program, its licence and those of all its modules,
// manual pages and completions made from the commands, the manual as HTML, the
// ready worksheets and the files for editors. Beside the archives are their
// checksums (SHA256SUMS), the licences of the modules (licences.md) and what
// each module adds to the size of the program (size.md).
//
// The maintained tool for this, goreleaser, is larger than Gearleaf with all
// its modules, and needs the network.
package main

import (
	"errors"
	"flag"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"runtime"
	"slices"
	"strings"
)

// systems are the systems of a release.
var systems = []string{"linux/amd64", "linux/arm64", "darwin/amd64", "darwin/arm64", "windows/amd64", "windows/arm64"}

// The files of a release besides the archives.
const (
	sumsFile     = "SHA256SUMS"
	licencesFile = "licences.md"
	sizeFile     = "size.md"
)

// mostBytes bounds the stripped program: 24 MiB.
const mostBytes = 24 << 20

func main() {
	out := flag.String("o", "dist", "the `folder` to write, which is replaced")
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

// replaceable returns an error unless out is missing, is empty, or contains
// only an earlier release.
func replaceable(out string) error {
	entries, err := os.ReadDir(out)
	if errors.Is(err, os.ErrNotExist) || err == nil && len(entries) == 0 {
		return nil
	}
	if err != nil {
		return err
	}
	sums, err := os.ReadFile(filepath.Join(out, sumsFile))
	if err != nil {
		return fmt.Errorf("%s holds files that are no release: name a new folder", out)
	}
	released := []string{sumsFile, licencesFile, sizeFile}
	for line := range strings.Lines(string(sums)) {
		if fields := strings.Fields(line); len(fields) == 2 {
			released = append(released, fields[1])
		}
	}
	for _, entry := range entries {
		if !slices.Contains(released, entry.Name()) {
			return fmt.Errorf("%s holds %s, which is not of an earlier release: name a new folder", out, entry.Name())
		}
	}
	return nil
}

// replace moves the folder made to out. An earlier release is removed once
// the new one has its name.
func replace(out, made string) error {
	old := made + ".old"
	if err := os.Rename(out, old); err != nil && !errors.Is(err, os.ErrNotExist) {
		return err
	}
	if err := os.Rename(made, out); err != nil {
		return errors.Join(err, os.Rename(old, out))
	}
	return os.RemoveAll(old)
}

// release makes everything in a folder beside out, gives that folder the name
// out, and prints the checksums.
func release(out string) error {
	if _, err := os.Stat("cmd/gearleaf/main.go"); err != nil {
		return fmt.Errorf("run it in the top folder of the project: %w", err)
	}
	if err := replaceable(out); err != nil {
		return err
	}
	parent := filepath.Dir(filepath.Clean(out))
	if err := os.MkdirAll(parent, 0o755); err != nil {
		return err
	}
	made, err := os.MkdirTemp(parent, ".release-")
	if err != nil {
		return err
	}
	defer os.RemoveAll(made)
	if err := os.Chmod(made, 0o755); err != nil {
		return err
	}
	sums, err := fill(made)
	if err != nil {
		return err
	}
	if err := replace(out, made); err != nil {
		return err
	}
	fmt.Print(sums)
	return nil
}

// fill writes the files of a release into a folder and returns the checksums of
// the archives, one per line.
func fill(folder string) (string, error) {
	work, err := os.MkdirTemp("", "release-")
	if err != nil {
		return "", err
	}
	defer os.RemoveAll(work)
	here := filepath.Join(work, "gearleaf")
	if err := build(here, runtime.GOOS+"/"+runtime.GOARCH, false); err != nil {
		return "", err
	}
	common, err := commonFiles(here)
	if err != nil {
		return "", err
	}
	modules, err := modules()
	if err != nil {
		return "", err
	}
	licences, report, err := licenceFiles(modules)
	if err != nil {
		return "", err
	}
	version, err := version(here)
	if err != nil {
		return "", err
	}
	sums, err := archives(folder, work, version, append(common, licences...))
	if err != nil {
		return "", err
	}
	share, err := sizes(here, modules)
	if err != nil {
		return "", err
	}
	for name, text := range map[string]string{sumsFile: sums, licencesFile: report, sizeFile: share} {
		if err := os.WriteFile(filepath.Join(folder, name), []byte(text), 0o644); err != nil {
			return "", err
		}
	}
	return sums, nil
}

// archives writes the archive of each system and returns their checksums.
func archives(folder, work, version string, files []entry) (string, error) {
	var sums strings.Builder
	for _, system := range systems {
		line, err := archive(folder, work, version, system, files)
		if err != nil {
			return "", fmt.Errorf("%s: %w", system, err)
		}
		sums.WriteString(line)
	}
	return sums.String(), nil
}

// unhurried are packages whose speed does not matter: they are compiled without
// inlining, which makes the program 1.5 MB smaller. None of them runs in the
// first evaluator: govaluate only confirms, and the part of wazero below emits
// machine code, which is the same.
var unhurried = []string{
	"archive/...", "container/...", "context", "crypto/...", "debug/dwarf", "encoding/...", "errors", "expvar", "flag", "fmt", "hash/...",
	"html", "html/template", "image/...", "internal/poll", "internal/syscall/...", "io/...", "log/...", "math/big", "mime/...",
	"net/...", "os/...", "path/...", "reflect", "regexp/...", "syscall", "text/...", "time", "vendor/...",
	"gearleaf/cmd/gearleaf", "gearleaf/export", "gearleaf/export/chart", "gearleaf/export/page", "gearleaf/export/parquet", "gearleaf/export/serve",
	"gearleaf/sheet", "gearleaf/sheet/diag", "gearleaf/sheet/disk", "gearleaf/sheet/editor", "gearleaf/sheet/graph", "gearleaf/sheet/pass",
	"gearleaf/sheet/passbook", "gearleaf/sheet/question", "gearleaf/sheet/referee", "gearleaf/sheet/runlog", "gearleaf/sheet/source", "gearleaf/sheet/unit", "gearleaf/sheet/watch",
	"gearleaf/formulas", "gearleaf/templates",
	"golang.org/x/...",
	"github.com/Knetic/...",
	"github.com/creachadair/...", "github.com/fsnotify/...", "github.com/gofrs/...", "github.com/inconshreveable/...",
	"github.com/parquet-go/...", "github.com/richardlehane/...", "github.com/rivo/...", "github.com/rogpeppe/...", "github.com/spf13/...",
	"github.com/tdewolff/...", "github.com/tiendc/...", "github.com/xuri/...",
	"github.com/tetratelabs/wazero", "github.com/tetratelabs/wazero/api", "github.com/tetratelabs/wazero/experimental/...",
	"github.com/tetratelabs/wazero/internal/engine/interpreter", "github.com/tetratelabs/wazero/internal/engine/wazevo/backend/isa/...",
	"github.com/tetratelabs/wazero/internal/sys", "github.com/tetratelabs/wazero/internal/sysfs",
	"github.com/tetratelabs/wazero/internal/wasm/...",
	"gonum.org/...",
}

// build makes the program for a system; stripped, it has neither symbols nor
// lines. It contains nothing of this machine. HTTP/2, which browsers use only
// over TLS, is left out, because the page is served without TLS.
func build(path, system string, stripped bool) error {
	goos, goarch, _ := strings.Cut(system, "/")
	flags := "-buildid="
	if stripped {
		flags = "-s -w " + flags
	}
	args := []string{"build", "-trimpath", "-buildvcs=false", "-tags", "nethttpomithttp2", "-ldflags", flags}
	for _, packages := range unhurried {
		args = append(args, "-gcflags="+packages+"=-l")
	}
	cmd := exec.Command("go", append(args, "-o", path, "./cmd/gearleaf")...)
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
