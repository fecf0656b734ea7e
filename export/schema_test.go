package export

import (
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"gearleaf/sheet/outside"
)

// TestSchemaHolds has the npm package @ooxml-tools/validate compare a workbook with
// the schema of its format, or every sample's where GEARLEAF_WORKBOOKS=all. Its exit
// status says nothing; what it prints does.
func TestSchemaHolds(t *testing.T) {
	if testing.Short() && !outside.Required() {
		t.Skip("the validator takes some seconds")
	}
	node := ""
	script := filepath.Join(os.Getenv("NODE_PATH"), "@ooxml-tools", "validate", "dist", "npm", "bin", "ooxml-validate.js")
	for _, name := range []string{"node", "nodejs"} {
		if path, err := exec.LookPath(name); err == nil && os.Getenv("NODE_PATH") != "" {
			node = path
			break
		}
	}
	if _, err := os.Stat(script); err != nil || node == "" {
		outside.Missing(t, "@ooxml-tools/validate (npm; NODE_PATH says where) is not installed: no workbook was compared with the schema")
	}
	seen := 0
	for _, s := range samples(t) {
		if s.name != "template-sprocket-change" && !allWorkbooks() {
			continue
		}
		data, _ := s.workbook(t)
		t.Run(s.name, func(t *testing.T) {
			if out := validated(t, node, script, data); !strings.Contains(out, "Found 0 errors") {
				t.Errorf("%s: %s", s.name, out)
			}
		})
		if seen++; seen == 1 {
			seesErrors(t, node, script, data)
		}
	}
	if seen == 0 {
		t.Error("no workbook was compared with the schema")
	}
	t.Logf("%d workbooks follow the schema", seen)
}

// TestTitlesHaveTexts reads the charts of all samples: a run of a title has a
// text.
func TestTitlesHaveTexts(t *testing.T) {
	run := regexp.MustCompile(`(?s)<a:r>.*?</a:r>`)
	seen := 0
	for _, s := range samples(t) {
		data, _ := s.workbook(t)
		names, parts := partsOf(t, data)
		for _, name := range names {
			if !strings.HasPrefix(name, "xl/charts/") {
				continue
			}
			for _, r := range run.FindAllString(string(parts[name]), -1) {
				if seen++; !strings.Contains(r, "<a:t>") {
					t.Errorf("%s, %s: %s", s.name, name, r)
				}
			}
		}
	}
	if seen < 100 {
		t.Errorf("only %d runs were seen", seen)
	}
}

// TestColumnsAscend reads the widths of every tab: they name columns in
// ascending order and each once, as some programs demand.
func TestColumnsAscend(t *testing.T) {
	column := regexp.MustCompile(`<col [^>]*min="(\d+)"[^>]*max="(\d+)"|<col [^>]*max="(\d+)"[^>]*min="(\d+)"`)
	seen := 0
	for _, s := range samples(t) {
		if !strings.HasPrefix(s.name, "template-") {
			continue
		}
		data, _ := s.workbook(t)
		names, parts := partsOf(t, data)
		for _, name := range names {
			if !strings.HasPrefix(name, "xl/worksheets/") {
				continue
			}
			last := 0
			for _, c := range column.FindAllStringSubmatch(string(parts[name]), -1) {
				from, err := strconv.Atoi(c[1] + c[4])
				if err != nil || from <= last {
					t.Fatalf("%s, %s: column %d after column %d: %v", s.name, name, from, last, err)
				}
				if last, err = strconv.Atoi(c[2] + c[3]); err != nil {
					t.Fatal(err)
				}
				seen++
			}
		}
	}
	if seen < 100 {
		t.Errorf("only %d columns have widths", seen)
	}
}

// seesErrors shows the validator a workbook with an error in it.
func seesErrors(t *testing.T, node, script string, data []byte) {
	t.Helper()
	names, parts := partsOf(t, data)
	const front = "xl/worksheets/sheet1.xml"
	parts[front] = []byte(strings.Replace(string(parts[front]), "<sheetData>", "<nonsense/><sheetData>", 1))
	if out := validated(t, node, script, zipped(t, names, parts)); !strings.Contains(out, "Found ") || strings.Contains(out, "Found 0 errors") {
		t.Errorf("an error that was put in is not seen: %s", out)
	}
}

func validated(t *testing.T, node, script string, data []byte) string {
	t.Helper()
	path := filepath.Join(t.TempDir(), "book.xlsx")
	if err := os.WriteFile(path, data, 0o644); err != nil {
		t.Fatal(err)
	}
	out, err := exec.Command(node, script, path).CombinedOutput()
	if err != nil {
		t.Fatalf("%v: %s", err, out)
	}
	return string(out)
}
