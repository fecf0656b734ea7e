package main

import (
	"go/parser"
	"go/token"
	"io/fs"
	"os"
	"path"
	"path/filepath"
	"regexp"
	"slices"
	"sort"
	"strconv"
	"strings"
	"testing"
)

// root is the project's folder, seen from this package.
const root = "../.."

// arrows lists who may import whom; any other import of this project's is
// wrong. A stage depends on the stages before it, never the other way.
var arrows = map[string]string{
	"sheet/source": "",
	"sheet/unit":   "",
	"sheet/kernel": "",

	"sheet/diag":   "sheet/source",
	"sheet/syntax": "sheet/source sheet/diag",
	"sheet/check":  "sheet/syntax sheet/unit sheet/diag sheet/source sheet/kernel",
	"sheet/graph":  "sheet/check sheet/diag sheet/source",

	"sheet/program/code":     "sheet/check sheet/kernel",
	"sheet/program/lower":    "sheet/program/code sheet/graph sheet/check sheet/kernel",
	"sheet/program/wasm":     "sheet/program/lower sheet/program/code sheet/check sheet/kernel",
	"sheet/kernel/translate": "",
	"sheet/program":          "sheet/program/code sheet/program/lower sheet/graph sheet/check sheet/kernel",
	"sheet/referee":          "sheet/graph sheet/check sheet/kernel",
	"sheet/whatif":           "sheet/program sheet/program/code sheet/program/wasm sheet/graph sheet/check sheet/kernel",

	"sheet/disk":     "",
	"sheet/runlog":   "sheet/source",
	"sheet/passbook": "sheet/disk",

	"formulas":  "sheet/kernel sheet/source",
	"templates": "",
	"sheet": "sheet/source sheet/diag sheet/syntax sheet/unit sheet/kernel sheet/check sheet/graph " +
		"sheet/program sheet/referee sheet/whatif sheet/disk sheet/passbook sheet/runlog formulas",
	"sheet/question":     "sheet sheet/check sheet/diag sheet/referee sheet/source sheet/syntax sheet/unit sheet/whatif",
	"sheet/pass":         "sheet sheet/question sheet/check sheet/diag sheet/disk sheet/kernel sheet/runlog sheet/source sheet/syntax sheet/unit sheet/whatif",
	"sheet/editor":       "sheet sheet/check sheet/diag sheet/disk sheet/graph sheet/source sheet/syntax sheet/unit",
	"sheet/watch":        "",
	"export":             "sheet/question export/chart export/page export/parquet sheet sheet/pass sheet/passbook sheet/check sheet/diag sheet/disk sheet/kernel sheet/runlog sheet/source sheet/syntax sheet/unit",
	"export/chart":       "",
	"export/serve":       "sheet sheet/diag",
	"export/page/bundle": "",
	"export/parquet":     "",
	"export/page":        "export/chart sheet sheet/check sheet/kernel sheet/program/wasm sheet/unit",

	"cmd/release":  "",
	"cmd/gearleaf": "export export/chart export/serve formulas templates sheet sheet/pass sheet/question sheet/check sheet/editor sheet/watch sheet/diag sheet/source sheet/syntax sheet/unit sheet/passbook sheet/disk",

	// Worksheets made by chance, for tests: nobody imports it but they.
	"sheet/generate": "sheet/kernel",
	"sheet/outside":  "",
}

// folders are all that may be at the top.
var folders = []string{".ci", ".git", ".github", "cmd", "export", "formulas", "sheet", "templates", "testdata"}

// imports returns, for every package folder, the packages of this project that
// its code without tests imports.
func imports(t *testing.T) map[string][]string {
	t.Helper()
	found := map[string]map[string]bool{}
	for _, file := range goFiles(t) {
		if strings.HasSuffix(file, "_test.go") {
			continue
		}
		tree, err := parser.ParseFile(token.NewFileSet(), filepath.Join(root, file), nil, parser.ImportsOnly)
		if err != nil {
			t.Fatal(err)
		}
		folder := path.Dir(file)
		if found[folder] == nil {
			found[folder] = map[string]bool{}
		}
		for _, spec := range tree.Imports {
			name, err := strconv.Unquote(spec.Path.Value)
			if err != nil {
				t.Fatal(err)
			}
			if own, ok := strings.CutPrefix(name, "gearleaf/"); ok {
				found[folder][own] = true
			}
		}
	}
	out := map[string][]string{}
	for folder, set := range found {
		out[folder] = []string{}
		for name := range set {
			out[folder] = append(out[folder], name)
		}
		sort.Strings(out[folder])
	}
	return out
}

// goFiles returns every Go file of the project, slashes between folders.
func goFiles(t *testing.T) []string {
	t.Helper()
	var out []string
	err := filepath.WalkDir(root, func(p string, d fs.DirEntry, err error) error {
		if err != nil {
			return err
		}
		rel, err := filepath.Rel(root, p)
		if err != nil {
			return err
		}
		if d.IsDir() && (d.Name() == "testdata" || d.Name() == ".git") {
			return fs.SkipDir
		}
		if strings.HasSuffix(p, ".go") {
			out = append(out, filepath.ToSlash(rel))
		}
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
	return out
}

func TestImportsFollowTheArrows(t *testing.T) {
	for folder, list := range imports(t) {
		allowed, known := arrows[folder]
		if !known {
			t.Errorf("package %s is not in the list of arrows", folder)
			continue
		}
		may := map[string]bool{}
		for name := range strings.FieldsSeq(allowed) {
			may[name] = true
		}
		for _, name := range list {
			if !may[name] {
				t.Errorf("%s imports %s, which no arrow allows", folder, name)
			}
		}
	}
}

// TestArrowsAreUsed refuses an arrow that no import follows.
func TestArrowsAreUsed(t *testing.T) {
	found := imports(t)
	for folder, allowed := range arrows {
		for name := range strings.FieldsSeq(allowed) {
			if !slices.Contains(found[folder], name) {
				t.Errorf("%s may import %s and does not", folder, name)
			}
		}
	}
}

// TestArrowsLeadNowhereTwice checks the list of arrows itself: every package
// in it exists, and no two depend on each other.
func TestArrowsLeadNowhereTwice(t *testing.T) {
	for folder, allowed := range arrows {
		if _, err := os.Stat(filepath.Join(root, folder)); err != nil {
			t.Errorf("the list of arrows names %s: %v", folder, err)
		}
		for name := range strings.FieldsSeq(allowed) {
			if _, known := arrows[name]; !known {
				t.Errorf("%s may import %s, which is no package", folder, name)
			}
			if strings.Contains(" "+arrows[name]+" ", " "+folder+" ") {
				t.Errorf("%s and %s may import one another", folder, name)
			}
		}
	}
}

func TestTopHoldsNoOtherFolders(t *testing.T) {
	entries, err := os.ReadDir(root)
	if err != nil {
		t.Fatal(err)
	}
	for _, e := range entries {
		if !e.IsDir() {
			continue
		}
		at := sort.SearchStrings(folders, e.Name())
		if at == len(folders) || folders[at] != e.Name() {
			t.Errorf("folder %s has no place at the top", e.Name())
		}
	}
}

// TestNoPackageForOddments keeps names away under which anything could hide.
func TestNoPackageForOddments(t *testing.T) {
	for folder := range imports(t) {
		switch path.Base(folder) {
		case "util", "utils", "common", "helper", "helpers", "types", "misc":
			t.Errorf("package %s says nothing about what is in it", folder)
		}
	}
}

// TestDevelopersMapIsWhole holds DEVELOPERS.md to the tree: its map names every
// package, and every place that it sends a contributor to exists.
func TestDevelopersMapIsWhole(t *testing.T) {
	text := readProject(t, "DEVELOPERS.md")
	mapped := between(t, text, "<!-- map -->", "<!-- end map -->")
	for folder := range imports(t) {
		if !strings.Contains(mapped, "`"+folder+"/`") {
			t.Errorf("the map does not name `%s/`", folder)
		}
	}
	places := 0
	for _, part := range []string{mapped, between(t, text, "<!-- add -->", "<!-- end add -->")} {
		for i, code := range strings.Split(part, "`") {
			if i%2 == 0 || !isPlace(code) {
				continue
			}
			places++
			if _, err := os.Stat(filepath.Join(root, filepath.FromSlash(code))); err != nil {
				t.Errorf("DEVELOPERS.md names `%s`: %v", code, err)
			}
		}
	}
	if places < len(arrows) {
		t.Errorf("only %d places were found in DEVELOPERS.md", places)
	}
}

// isPlace distinguishes a path of the project from other words set as code.
func isPlace(code string) bool {
	return strings.Contains(code, "/") && !strings.ContainsAny(code, " *<>{}(")
}

// TestDevelopersArrowsAreTheTested keeps the arrows that DEVELOPERS.md shows
// the same as those that are tested.
func TestDevelopersArrowsAreTheTested(t *testing.T) {
	part := between(t, readProject(t, "DEVELOPERS.md"), "<!-- arrows -->", "<!-- end arrows -->")
	shown := map[string]string{}
	for line := range strings.Lines(part) {
		from, to, ok := strings.Cut(strings.TrimSpace(line), " ← ")
		if ok {
			shown[from] = to
		}
	}
	for folder, allowed := range arrows {
		want := allowed
		if want == "" {
			want = "nothing"
		}
		if shown[folder] != want {
			t.Errorf("DEVELOPERS.md should say\n\t%s ← %s\nit says\n\t%s ← %s", folder, want, folder, shown[folder])
		}
	}
	for folder := range shown {
		if _, known := arrows[folder]; !known {
			t.Errorf("DEVELOPERS.md draws an arrow to %s, which is not tested", folder)
		}
	}
}

func readProject(t *testing.T, name string) string {
	t.Helper()
	data, err := os.ReadFile(filepath.Join(root, name))
	if err != nil {
		t.Fatal(err)
	}
	return strings.ReplaceAll(string(data), "\r\n", "\n")
}

// between returns the part of text between two marks.
func between(t *testing.T, text, from, to string) string {
	t.Helper()
	_, rest, ok := strings.Cut(text, from)
	part, _, ended := strings.Cut(rest, to)
	if !ok || !ended {
		t.Fatalf("the marks %s and %s are not both there", from, to)
	}
	return part
}

// TestJSONIsShapedInExport refuses documents of the commands' own. What the
// language server exchanges with an editor is a protocol, not an answer.
func TestJSONIsShapedInExport(t *testing.T) {
	read := 0
	for _, path := range goFiles(t) {
		inside := strings.HasPrefix(path, "cmd/gearleaf/") || strings.HasPrefix(path, "sheet/") && path != "sheet/editor/position.go"
		if !inside || strings.HasPrefix(path, "cmd/gearleaf/lsp") || strings.HasSuffix(path, "_test.go") {
			continue
		}
		text, err := os.ReadFile(filepath.Join(root, path))
		if err != nil {
			t.Fatal(err)
		}
		read++
		if strings.Contains(string(text), "`json:") || strings.Contains(string(text), `"encoding/json"`) {
			t.Errorf("%s shapes JSON: that belongs in export", path)
		}
	}
	if read < 300 {
		t.Errorf("%d files were read", read)
	}
}

// toDigits is a rounding to significant digits.
var toDigits = regexp.MustCompile(`ParseFloat\(strconv\.FormatFloat\([^,]*, 'g'`)

// TestRoundingStandsOnce refuses a rounding to significant digits beside
// unit.Significant. Random worksheets are test data; charts know no units.
func TestRoundingStandsOnce(t *testing.T) {
	for _, path := range goFiles(t) {
		if strings.HasPrefix(path, "sheet/unit/") || strings.HasPrefix(path, "sheet/generate/") || path == "export/chart/chart.go" || strings.HasSuffix(path, "_test.go") {
			continue
		}
		text, err := os.ReadFile(filepath.Join(root, path))
		if err != nil {
			t.Fatal(err)
		}
		if toDigits.Match(text) {
			t.Errorf("%s rounds to digits: call unit.Significant", path)
		}
	}
}
