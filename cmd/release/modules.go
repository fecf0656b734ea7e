package main

import (
	"debug/elf"
	"fmt"
	"os"
	"path/filepath"
	"regexp"
	"runtime/debug"
	"slices"
	"strconv"
	"strings"
)

// module is a module of the program.
type module struct{ path, version, folder string }

// modules lists those that are in the program for any of the systems.
func modules() ([]module, error) {
	found := map[string]module{}
	for _, system := range systems {
		goos, goarch, _ := strings.Cut(system, "/")
		text, err := output("env", "GOOS="+goos, "GOARCH="+goarch, "CGO_ENABLED=0", "go", "list", "-deps",
			"-f", "{{with .Module}}{{.Path}}\t{{.Version}}\t{{.Dir}}{{end}}", "./cmd/gearleaf")
		if err != nil {
			return nil, err
		}
		for line := range strings.Lines(text) {
			f := strings.Split(strings.TrimSpace(line), "\t")
			if len(f) == 3 {
				found[f[0]] = module{f[0], f[1], f[2]}
			}
		}
	}
	goRoot, err := output("go", "env", "GOROOT")
	if err != nil {
		return nil, err
	}
	info, _ := debug.ReadBuildInfo()
	found["std"] = module{"Go's own packages", info.GoVersion, strings.TrimSpace(goRoot)}
	var out []module
	for _, m := range found {
		out = append(out, m)
	}
	slices.SortFunc(out, func(a, b module) int { return strings.Compare(a.path, b.path) })
	return out, nil
}

var licenceName = regexp.MustCompile(`(?i)^(licen[cs]e|copying|notice|patents)([.-].*)?$`)

// kinds identifies licences by words that only they contain.
var kinds = []struct{ name, words string }{
	{"Apache 2.0", "Apache License"},
	{"MPL 2.0", "Mozilla Public License"},
	{"GPL", "GNU GENERAL PUBLIC"},
	{"LGPL", "GNU LESSER"},
	{"BSD, 3 clauses", "Neither the name"},
	{"BSD, 3 clauses", "names of its contributors may"},
	{"BSD, 2 clauses", "Redistributions in binary form"},
	{"MIT", "Permission is hereby granted, free of charge"},
	{"ISC", "Permission to use, copy, modify, and/or distribute"},
}

// licenceFiles returns the texts of all licences, and a page that lists them. A
// module without a licence, or with one that requires more than its text, is an
// error.
func licenceFiles(modules []module) ([]entry, string, error) {
	var out []entry
	report := "# Licences\n\nWhat Gearleaf is made of, with the licence of each; the texts are in the archives, in `licences`.\n\n| module | version | licence |\n|---|---|---|\n"
	for _, m := range modules {
		kind := ""
		names, err := os.ReadDir(m.folder)
		if err != nil {
			return nil, "", err
		}
		for _, n := range names {
			if n.IsDir() || !licenceName.MatchString(n.Name()) {
				continue
			}
			text, err := os.ReadFile(filepath.Join(m.folder, n.Name()))
			if err != nil {
				return nil, "", err
			}
			if kind == "" {
				kind = kindOf(string(text))
			}
			if m.path != "gearleaf" {
				out = append(out, entry{name: "licences/" + strings.ReplaceAll(m.path, "/", "_") + "/" + n.Name(), data: text})
			}
		}
		switch kind {
		case "":
			return nil, "", fmt.Errorf("%s has no licence that is known here", m.path)
		case "GPL", "LGPL":
			return nil, "", fmt.Errorf("%s is under the %s, which does not allow it in a release of Gearleaf", m.path, kind)
		}
		report += fmt.Sprintf("| %s | %s | %s |\n", m.path, m.version, kind)
	}
	return append(out, entry{name: "licences.md", data: []byte(report)}), report, nil
}

func kindOf(text string) string {
	flat := strings.Join(strings.Fields(text), " ")
	for _, k := range kinds {
		if strings.Contains(flat, k.words) {
			return k.name
		}
	}
	return ""
}

// sizes lists the size that each module adds to the program, by its symbols.
func sizes(program string, modules []module) (string, error) {
	text, err := output("go", "tool", "nm", "-size", "-sort", "size", program)
	if err != nil {
		return "", err
	}
	empty := emptyIn(program)
	bytes := map[string]int{}
	total := 0
	for line := range strings.Lines(text) {
		f := strings.Fields(line)
		if len(f) < 4 || empty(f[0]) {
			continue
		}
		n, err := strconv.Atoi(f[1])
		if err != nil {
			continue
		}
		bytes[ownerOf(f[3], modules)] += n
		total += n
	}
	info, err := os.Stat(program)
	if err != nil {
		return "", err
	}
	var names []string
	for name := range bytes {
		names = append(names, name)
	}
	slices.SortFunc(names, func(a, b string) int {
		if bytes[a] != bytes[b] {
			return bytes[b] - bytes[a]
		}
		return strings.Compare(a, b)
	})
	out := fmt.Sprintf("# Size\n\nThe program with its symbols has %d bytes on this system; %d of them are assigned to a symbol, the rest is tables for the whole:\n\n| part | kB | share |\n|---|--:|--:|\n", info.Size(), total)
	for _, name := range names {
		out += fmt.Sprintf("| %s | %d | %.1f %% |\n", name, bytes[name]/1000, 100*float64(bytes[name])/float64(total))
	}
	return out, nil
}

// emptyIn returns the symbols, by their address, that use memory but are not in
// the file because they are zero at the start. It knows none on systems other
// than linux.
func emptyIn(program string) func(address string) bool {
	var sections []*elf.Section
	if f, err := elf.Open(program); err == nil {
		defer f.Close()
		for _, s := range f.Sections {
			if s.Type == elf.SHT_NOBITS {
				sections = append(sections, s)
			}
		}
	}
	return func(address string) bool {
		at, err := strconv.ParseUint(address, 16, 64)
		return err != nil || slices.ContainsFunc(sections, func(s *elf.Section) bool { return at >= s.Addr && at < s.Addr+s.Size })
	}
}

// ownerOf returns the module that a symbol belongs to.
func ownerOf(symbol string, modules []module) string {
	symbol = strings.TrimPrefix(symbol, "type:")
	symbol = strings.TrimLeft(symbol, "*.[]")
	for _, m := range modules {
		if m.path != "gearleaf" && strings.HasPrefix(symbol, m.path) {
			return m.path
		}
	}
	switch {
	case strings.HasPrefix(symbol, "gearleaf/"), strings.HasPrefix(symbol, "main."):
		return "Gearleaf"
	case strings.HasPrefix(symbol, "go:"), strings.HasPrefix(symbol, "runtime."), strings.HasPrefix(symbol, "eq:"):
		return "Go's runtime, tables and strings"
	}
	return "Go's own packages"
}
