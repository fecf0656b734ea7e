package export

import (
	"archive/zip"
	"bytes"
	"cmp"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"

	"gearleaf/sheet"
	"gearleaf/sheet/outside"
)

// tool returns the path of an outside program; without it the test is
// skipped, or fails where everything is required.
func tool(t *testing.T, name string) string {
	t.Helper()
	if testing.Short() && !outside.Required() {
		t.Skip("recalculation by " + name + " takes a minute")
	}
	path, err := exec.LookPath(name)
	if err != nil {
		outside.Missing(t, name+" is not installed: its recalculation was not compared")
	}
	return path
}

// misled returns a workbook in which every cached value is wrong: a program that uses
// one of them, instead of computing, cannot pass.
func misled(t *testing.T, data []byte) []byte {
	t.Helper()
	z, err := zip.NewReader(bytes.NewReader(data), int64(len(data)))
	if err != nil {
		t.Fatal(err)
	}
	var out bytes.Buffer
	w := zip.NewWriter(&out)
	for _, f := range z.File {
		if !strings.HasPrefix(f.Name, "xl/worksheets/sheet") {
			if err := w.Copy(f); err != nil {
				t.Fatal(err)
			}
			continue
		}
		part, err := readPart(z, f.Name)
		if err != nil {
			t.Fatal(err)
		}
		o, err := w.Create(f.Name)
		if err != nil {
			t.Fatal(err)
		}
		if _, err := o.Write(cachedValues.ReplaceAllFunc(part, otherValue)); err != nil {
			t.Fatal(err)
		}
	}
	if err := w.Close(); err != nil {
		t.Fatal(err)
	}
	return out.Bytes()
}

var cachedValues = regexp.MustCompile(`<c [^>]*>(?:<f[^>]*>[^<]*</f>|<f [^>]*/>)<v>[^<]*`)

// otherValue returns a match of cachedValues with another value: of the same kind, but
// a text instead of an error.
func otherValue(match []byte) []byte {
	before, value, _ := strings.Cut(string(match), "<v>")
	switch {
	case value == "0" || value == "1": // a number or a logical value
		value = string('0' + '1' - value[0])
	case strings.HasPrefix(value, "#"):
		before, value = strings.Replace(before, ` t="e"`, ` t="str"`, 1), "-7777"
	default:
		value = "-7777"
	}
	return []byte(before + "<v>" + value)
}

// TestNothingCachedPasses shows the comparison workbooks that nobody has computed:
// every single cell must count as different.
func TestNothingCachedPasses(t *testing.T) {
	for _, s := range samples(t) {
		data, _ := s.workbook(t)
		if len(data) > largeBook {
			continue
		}
		ours, empty := readGrid(t, data), readGrid(t, misled(t, data))
		for tab, fields := range empty {
			for ref, f := range fields {
				if was := ours[tab][ref]; f.formula != "" && f.kind+f.value != "" && f.value == was.value {
					t.Fatalf("%s: %s!%s still holds %q", s.name, tab, ref, f.value)
				}
			}
		}
		if list, compared := differences(ours, empty); len(list) != compared || compared == 0 {
			t.Errorf("%s: of %d cells that were not computed only %d are found", s.name, compared, len(list))
		}
	}
}

// TestLibreOfficeAgrees has LibreOffice compute every sample. It keeps what was
// cached unless its profile says otherwise, and computes what has no value, whatever
// that says.
func TestLibreOfficeAgrees(t *testing.T) {
	soffice := tool(t, "soffice")
	dir := t.TempDir()
	all := samples(t)
	args := []string{
		"--headless", "--norestore", "-env:UserInstallation=file://" + filepath.Join(dir, "profile"),
		"--convert-to", "xlsx", "--outdir", filepath.Join(dir, "out"),
	}
	books, single := map[string][]byte{}, map[string][]byte{}
	for _, s := range all {
		books[s.name], _ = s.workbook(t)
		if len(s.s.Model.Files) == 1 {
			single[s.name] = books[s.name]
		}
		path := filepath.Join(dir, s.name+".xlsx")
		if err := os.WriteFile(path, misled(t, books[s.name]), 0o644); err != nil {
			t.Fatal(err)
		}
		args = append(args, path)
	}
	// From here on nothing is shared: this waits while other tests compute.
	t.Parallel()
	if out, err := exec.Command(soffice, args...).CombinedOutput(); err != nil {
		t.Fatalf("%v\n%s", err, out)
	}
	for _, s := range all {
		compareBooks(t, s.name, books[s.name], filepath.Join(dir, "out", s.name+".xlsx"))
	}
	t.Run("excelize", func(t *testing.T) { excelizeAgrees(t, single, filepath.Join(dir, "out")) })
}

func TestGnumericAgrees(t *testing.T) {
	ssconvert := tool(t, "ssconvert")
	dir := t.TempDir()
	books := map[string][]byte{}
	var names []string
	for _, s := range samples(t) {
		if s.name == "signs" || strings.HasPrefix(s.name, "chance-") && tooLarge(s.r) {
			continue // gnumeric computes with longer numbers: 0.1 + 0.2 is 0.3 there
		}
		books[s.name], _ = s.workbook(t)
		names = append(names, s.name)
	}
	// From here on nothing is shared.
	t.Parallel()
	for _, name := range names {
		in, out := filepath.Join(dir, name+".xlsx"), filepath.Join(dir, name+"-out.xlsx")
		if err := os.WriteFile(in, misled(t, books[name]), 0o644); err != nil {
			t.Fatal(err)
		}
		if msg, err := exec.Command(ssconvert, "--recalc", in, out).CombinedOutput(); err != nil {
			t.Fatalf("%s: %v\n%s", name, err, msg)
		}
		compareBooks(t, name, books[name], out)
	}
}

// tooLarge reports whether a sheet has a fault for the size of a number:
// gnumeric computes with longer ones, and has a value there.
func tooLarge(r *sheet.Result) bool {
	for _, f := range r.Failures() {
		if strings.Contains(f.Cause, "too large") || strings.HasPrefix(f.Cause, "exp ") {
			return true
		}
	}
	return false
}

// compareBooks compares every formula with a cached value with what another
// program computed, and returns how many there are.
func compareBooks(t *testing.T, name string, ours []byte, path string) int {
	t.Helper()
	data, err := os.ReadFile(path)
	if err != nil {
		t.Errorf("%s: %v", name, err)
		return 0
	}
	return compareGrids(t, name, readGrid(t, ours), readGrid(t, data))
}

// compareGrids does so; it leaves out formulas with one of these parts.
func compareGrids(t *testing.T, name string, ours, theirs grid, without ...string) int {
	t.Helper()
	list, compared := differences(ours, theirs, without...)
	const most = 12
	for _, line := range list[:min(most, len(list))] {
		t.Errorf("%s: %s", name, line)
	}
	if len(list) > most {
		t.Errorf("%s: %d of %d cells differ", name, len(list), compared)
	}
	if compared == 0 {
		t.Errorf("%s: nothing was compared", name)
	}
	return compared
}

// differences lists the cells of a in which b holds another result, and returns
// the number compared.
func differences(a, b grid, without ...string) (list []string, compared int) {
	for _, tab := range a.tabs() {
		for _, ref := range a.places(tab) {
			mine := a[tab][ref]
			if mine.formula == "" {
				continue
			}
			if mine.kind == "" && mine.value == "" {
				// Steps have no cached value: nobody sees them, and there are many.
				if !mine.hidden {
					list = append(list, fmt.Sprintf("%s!%s has no cached value, formula %s", tab, ref, mine.formula))
				}
				continue
			}
			if slices.ContainsFunc(without, func(part string) bool { return strings.Contains(mine.formula+mine.value, part) }) {
				continue
			}
			compared++
			if theirs := b[tab][ref]; !sameField(mine, theirs) && !cancelled(a, tab, mine, theirs) {
				list = append(list, fmt.Sprintf("%s!%s: %s %q, computed again %s %q, formula %s", tab, ref, mine.kind, mine.value, theirs.kind, theirs.value, mine.formula))
			}
		}
	}
	return list, compared
}

// copied is the formula of a named cell's value, or of its size.
var copied = regexp.MustCompile(`^(ABS\()?[a-z_][a-z0-9_]*\)?$`)

// formEntry is the formula of an entry of a form to print.
var formEntry = regexp.MustCompile(`^IF\(\$[A-Z]+\d+="","",IF\(INDEX\(`)

// cancelled reports whether two values differ by no more than the rounding of
// what their formula takes from each other: of two engine speeds that meet,
// little more than that is left.
func cancelled(g grid, tab string, mine, theirs field) bool {
	if formEntry.MatchString(mine.formula) || tab == chartDataTab {
		// A copy of a cell that is compared where it is computed.
		x, errX := strconv.ParseFloat(mine.value, 64)
		y, errY := strconv.ParseFloat(theirs.value, 64)
		return errX == nil && errY == nil && agree(x, y, 1e-6)
	}
	x, errX := strconv.ParseFloat(mine.value, 64)
	y, errY := strconv.ParseFloat(theirs.value, 64)
	if errX != nil || errY != nil {
		return false
	}
	if most, difference := taken(g, tab, mine.formula, 3); difference && max(x, -x, y, -y) <= 1e-12*most {
		return true
	}
	if !strings.Contains(mine.formula, "-") {
		// A copy of such a value.
		return strings.Contains(mine.formula, "INDEX(") && max(x-y, y-x) <= 1e-11 || copied.MatchString(mine.formula) && max(x-y, y-x) <= 1e-12
	}
	largest := 0.0
	for _, m := range cellReference.FindAllStringSubmatch(mine.formula, -1) {
		if v, err := strconv.ParseFloat(g[cmp.Or(m[1], tab)][m[2]+m[3]].value, 64); err == nil {
			largest = max(largest, v, -v)
		}
	}
	if largest == 0 && max(x, -x, y, -y) < 1e-9 {
		return max(x-y, y-x) <= 1e-12 // the rounding of values that have names
	}
	return max(x-y, y-x) <= 1e-13*largest
}

// taken returns the largest value that a formula refers to, by so many steps, and
// reports whether any of these formulas takes a difference. Of two equal
// torques it may leave their rounding, which LibreOffice takes for 0.
func taken(g grid, tab, formula string, steps int) (most float64, difference bool) {
	difference = strings.Contains(formula, "-")
	for _, m := range cellReference.FindAllStringSubmatch(formula, -1) {
		from := cmp.Or(m[1], tab)
		f := g[from][m[2]+m[3]]
		if v, err := strconv.ParseFloat(f.value, 64); err == nil {
			most = max(most, v, -v)
		}
		if steps > 1 {
			further, differs := taken(g, from, f.formula, steps-1)
			most, difference = max(most, further), difference || differs
		}
	}
	return most, difference
}

// sameField compares a value with one that was computed again: any error is
// as good as another, a number must agree to 1e-9.
func sameField(mine, theirs field) bool {
	switch {
	case theirs.kind+theirs.value == "":
		return false // not computed
	case mine.kind == "e":
		return theirs.kind == "e" && theirs.value != "" || strings.HasPrefix(theirs.value, "#") || theirs.value == "inf"
	case mine.kind == "b":
		return (theirs.kind == "b" || theirs.kind == "n" || theirs.kind == "") && mine.value == theirs.value
	case mine.kind == "str":
		return mine.value == theirs.value
	}
	x, err := strconv.ParseFloat(mine.value, 64)
	if err != nil {
		return false
	}
	y, err := strconv.ParseFloat(theirs.value, 64)
	return err == nil && (agree(x, y, 1e-9) || max(x, -x, y, -y) < 1e-12)
}

// readWithOpenpyxl prints what another reader finds in a workbook, a fact a
// line.
const readWithOpenpyxl = `
import sys, warnings
warnings.simplefilter("ignore")
import openpyxl
book = openpyxl.load_workbook(sys.argv[1])
names = book.defined_names
print("names", " ".join(sorted(n.name for n in names.definedName) if hasattr(names, "definedName") else sorted(names)))
front = book.worksheets[0]
for v in front.data_validations.dataValidation:
    print("rule", v.type, v.formula1, v.formula2, v.showErrorMessage, v.errorStyle, v.sqref)
values = openpyxl.load_workbook(sys.argv[1], data_only=True).worksheets[0]
for row in front.iter_rows(min_col=2, max_col=8):
    value, name = row[0], row[6].value
    if name and value.data_type == "f":
        cached = values[value.coordinate]
        print("cell", name, cached.data_type, repr(cached.value))
for row in front.iter_rows(min_col=2, max_col=8):
    if row[6].value and not row[0].protection.locked:
        print("open", row[6].value)
print("state", book.worksheets[-1].sheet_state, front.protection.sheet, front.freeze_panes, front.print_title_rows)
`

// TestOpenpyxlReads reads a workbook by another program: names, rules for
// entries, types of cached values, locked cells.
func TestOpenpyxlReads(t *testing.T) {
	python := ""
	for _, p := range []string{"/usr/bin/python3", "python3"} {
		if exec.Command(p, "-c", "import openpyxl").Run() == nil {
			python = p
			break
		}
	}
	if python == "" {
		outside.Missing(t, "no python3 with openpyxl: what another reader finds was not looked at")
	}
	text, err := os.ReadFile("testdata/scalars.leaf")
	if err != nil {
		t.Fatal(err)
	}
	made := load(t, "openpyxl", string(text))
	data, _ := made.workbook(t)
	path := filepath.Join(t.TempDir(), "book.xlsx")
	if err := os.WriteFile(path, data, 0o644); err != nil {
		t.Fatal(err)
	}
	front := newBook(made.s, made.r).front
	heads := strconv.Itoa(front.head() + 1)
	out, err := exec.Command(python, "-c", readWithOpenpyxl, path).Output()
	if err != nil {
		t.Fatalf("%v: %s", err, err.(*exec.ExitError).Stderr)
	}
	got := "\n" + string(out)
	for _, want := range []string{
		" afr1_ ", " r_ ", " tyre_rollout ",
		"\nrule whole 15 19 True warning ", `rule list "38,40,41,42,44" None True stop `,
		"\nrule decimal 9000 11800 True warning ", `rule list "yes,no" None True stop `, `rule list "gasoline,methanol,ethanol" None True stop `,
		"\ncell top_speed n 232.8948116876278\n", "\ncell both s 'yes'\n", "\ncell divided e '#DIV/0!'\n", "\ncell spelled s ",
		"\nopen front_sprocket\n", "\nopen zero\n", "\nstate veryHidden True A3 $" + heads + ":$" + heads,
	} {
		if !strings.Contains(got, want) {
			t.Errorf("nothing reads %q in\n%s", want, got)
		}
	}
	if strings.Contains(got, "\nopen final_ratio\n") {
		t.Error("a computed cell is not locked")
	}
}
