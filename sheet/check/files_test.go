package check_test

import (
	"bytes"
	"errors"
	"fmt"
	"strconv"
	"strings"
	"testing"

	"gearleaf/sheet/check"
	"gearleaf/sheet/diag"
	"gearleaf/sheet/source"
	"gearleaf/sheet/syntax"
)

// archive holds several files in one text: each begins with `-- name --`.
func archive(text string) (names []string, texts map[string]string) {
	texts = map[string]string{}
	name := ""
	for line := range strings.Lines(text) {
		if head, ok := strings.CutPrefix(line, "-- "); ok {
			name = strings.TrimSuffix(strings.TrimSpace(head), " --")
			names = append(names, name)
			continue
		}
		texts[name] += line
	}
	return names, texts
}

// sheets checks an archive; its first file is the sheet. Files that end in
// .csv are tables' files.
func sheets(t testing.TB, text string) (*check.Model, diag.List) {
	t.Helper()
	names, texts := archive(text)
	in := check.Input{Library: library()}
	index := map[string]int{}
	for _, name := range names {
		if strings.HasSuffix(name, ".csv") {
			continue
		}
		tree, list := syntax.Parse(source.New(name, texts[name]))
		if list.Errors() {
			t.Fatalf("%s: %s at %v", name, list[0].Message, list[0].File.Position(list[0].Span.Start))
		}
		index[name] = len(in.Files)
		in.Files = append(in.Files, check.File{Tree: tree, Uses: map[*syntax.Use]int{}})
	}
	for _, f := range in.Files {
		for _, s := range f.Tree.Stmts {
			if u, ok := s.(*syntax.Use); ok {
				if i, ok := index[u.Path.Text]; ok {
					f.Uses[u] = i
				}
			}
		}
	}
	in.CSV = func(_ int, path string, _ []string) (*check.CSV, error) {
		if _, ok := texts[path]; !ok {
			return nil, errors.New(path + " cannot be read: no such file")
		}
		return parseCSV(path, texts[path]), nil
	}
	return check.Check(in)
}

// parseCSV reads plain comma-separated lines, enough for tests.
func parseCSV(name, text string) *check.CSV {
	lines := strings.Split(strings.TrimSpace(text), "\n")
	f := &check.CSV{
		Name: name, Rows: len(lines) - 1, Line: func(row int) int { return row + 2 },
		Number: func(field []byte) (float64, bool) {
			v, err := strconv.ParseFloat(string(field), 64)
			return v, err == nil
		},
		Blank: func(field []byte) bool { return string(field) == "n/a" },
	}
	for _, h := range strings.Split(lines[0], ",") {
		f.Heads = append(f.Heads, check.Head{Text: h, Name: h})
	}
	f.Each = func(each func(row int, fields [][]byte) bool) {
		for row, line := range lines[1:] {
			if !each(row, bytes.Split([]byte(line), []byte{','})) {
				return
			}
		}
	}
	return f
}

// codes writes what was found as "file:line:column code" lines.
func codes(list diag.List) string {
	var b strings.Builder
	for _, d := range list {
		if d.File == nil {
			fmt.Fprintf(&b, "- %s\n", d.Code)
			continue
		}
		p := d.File.Position(d.Span.Start)
		fmt.Fprintf(&b, "%s:%d:%d %s\n", d.File.Name, p.Line, p.Column, d.Code)
	}
	return b.String()
}

// outline writes the outline of a model on one line.
func outline(m *check.Model) string {
	var words []string
	for i := range m.Outline() {
		switch {
		case i.Section != "":
			words = append(words, "["+i.Section+"]")
		case i.Note != "":
			words = append(words, "note")
		case i.Cell != nil && i.Cell.Plugged:
			words = append(words, "("+i.Cell.Name+")")
		case i.Cell != nil:
			words = append(words, i.Cell.Name)
		case i.Table != nil:
			words = append(words, i.Table.Name+".")
		case i.Limit != nil:
			words = append(words, "limit")
		case i.Chart != nil:
			words = append(words, "chart")
		}
	}
	return strings.Join(words, " ")
}

func TestFiles(t *testing.T) {
	for _, c := range []struct{ name, text, outline, codes string }{
		{
			"a used sheet stands where its use stands, once",
			"-- day.leaf --\na : 1\nsection \"Day\"\nuse \"bike.leaf\"\nuse \"air.leaf\"\nb = a + mass / 1 kg\n" +
				"-- bike.leaf --\nsection \"Bike\"\nmass : 340 kg\nuse \"air.leaf\"\n" +
				"-- air.leaf --\ntitle \"Air\"\npressure : 100 kPa\nnote \"read at noon\"\n",
			"a [Day] [Bike] mass [Air] pressure note [Day] b", "",
		},
		{
			"an override keeps its place",
			"-- day.leaf --\nuse \"bike.leaf\"\nmass : 345\n-- bike.leaf --\nmass : 340 kg range 300..360 \"Ready to run\"\ntwice = 2 * mass\n",
			"mass twice", "",
		},
		{
			"a computed cell cannot be overridden",
			"-- day.leaf --\nuse \"bike.leaf\"\ntwice : 345 kg\n-- bike.leaf --\nmass : 340 kg\ntwice = 2 * mass\n",
			"mass twice", "day.leaf:2:1 override-computed\n",
		},
		{
			"an override must fit",
			"-- day.leaf --\nuse \"bike.leaf\"\nmass : 3 m\nteeth_rear : 41.5\nfuel : \"petrol\"\n" +
				"-- bike.leaf --\nmass : 340 kg\nteeth_rear : 41 teeth\nfuel : \"methanol\" choice \"methanol\", \"gasoline\"\n",
			"mass teeth_rear fuel", "day.leaf:2:8 dimension-mismatch\nday.leaf:3:14 not-whole\nday.leaf:4:8 choice-refused\n",
		},
		{
			"an override's clauses are the first declaration's",
			"-- day.leaf --\nuse \"bike.leaf\"\nmass : 341 kg range 0..1 \"Mine\"\n-- bike.leaf --\nmass : 340 kg\n",
			"mass", "day.leaf:2:1 override-clause\n",
		},
		{
			"a given that another sheet computes is taken from there",
			"-- day.leaf --\nuse \"boost.leaf\"\nuse \"air.leaf\"\n" +
				"-- boost.leaf --\nambient : 1.2 kg/m3\ntwice = 2 * ambient\n-- air.leaf --\nmass : 3 kg\nambient = mass / 2 m3\n",
			"(ambient) twice [air] mass ambient", "",
		},
		{
			"it may be computed above, too",
			"-- day.leaf --\nuse \"air.leaf\"\nuse \"boost.leaf\"\n" +
				"-- boost.leaf --\nambient : 1.2 kg/m3\ntwice = 2 * ambient\n-- air.leaf --\nmass : 3 kg\nambient = mass / 2 m3\n",
			"mass ambient [boost] (ambient) twice", "",
		},
		{
			"the sheet itself may compute it",
			"-- day.leaf --\nuse \"boost.leaf\"\nambient = 3 kg / 2 m3\n-- boost.leaf --\nambient : 1.2 kg/m3\n",
			"(ambient) [day] ambient", "",
		},
		{
			"a plug must measure the same",
			"-- day.leaf --\nuse \"boost.leaf\"\nuse \"air.leaf\"\n" +
				"-- boost.leaf --\nambient : 100 kPa\ntwice = 2 * ambient\n-- air.leaf --\nmass : 3 kg\nambient = mass / 2 m3\n",
			"(ambient) twice [air] mass ambient", "boost.leaf:1:1 plug-mismatch\n",
		},
		{
			"a plug must be of the same kind",
			"-- day.leaf --\nuse \"boost.leaf\"\nuse \"air.leaf\"\n" +
				"-- boost.leaf --\nambient : 100 kPa\n-- air.leaf --\nambient = 20 psig + 1 psig\n",
			"(ambient) [air] ambient", "boost.leaf:1:1 plug-mismatch\n",
		},
		{
			"a given cannot be both set and plugged",
			"-- day.leaf --\nuse \"boost.leaf\"\nambient : 1.1 kg/m3\nuse \"air.leaf\"\n" +
				"-- boost.leaf --\nambient : 1.2 kg/m3\n-- air.leaf --\nambient = 3 kg / 2 m3\n",
			"ambient", "air.leaf:1:1 override-computed\n",
		},
		{
			"two givens must agree",
			"-- day.leaf --\nuse \"a.leaf\"\nuse \"b.leaf\"\n-- a.leaf --\nmass : 340 kg\n-- b.leaf --\nmass : 341 kg\n",
			"mass", "b.leaf:1:1 given-conflict\n",
		},
		{
			"two givens that agree are one",
			"-- day.leaf --\nuse \"a.leaf\"\nuse \"b.leaf\"\n-- a.leaf --\nmass : 340 kg\n-- b.leaf --\nmass : 340000 g\n",
			"mass", "",
		},
		{
			"the sheet that uses both settles it",
			"-- day.leaf --\nuse \"a.leaf\"\nuse \"b.leaf\"\nmass : 345 kg\n-- a.leaf --\nmass : 340 kg\n-- b.leaf --\nmass : 341 kg\n",
			"mass", "",
		},
		{
			"a given twice in a sheet beside another that has it",
			"-- day.leaf --\nuse \"a.leaf\"\nuse \"b.leaf\"\n-- a.leaf --\nmass : 340 kg\n-- b.leaf --\nmass : 340 kg\nmass : 340 kg\n",
			"mass", "b.leaf:2:1 name-duplicate\n",
		},
		{
			"an entry with nothing in it beside another",
			"-- day.leaf --\nuse \"a.leaf\"\nuse \"b.leaf\"\n-- a.leaf --\ntable g\n  | n |\n  | x |\n  |   |\n-- b.leaf --\ntable g\n  | n |\n  | x |\n  | y |\n",
			"g.", "b.leaf:4:5 given-conflict\n",
		},
		{
			"two sheets side by side override one given",
			"-- day.leaf --\nuse \"a.leaf\"\nuse \"b.leaf\"\n-- a.leaf --\nuse \"c.leaf\"\nmass : 341\ng.r[1] : 2.4\n" +
				"-- b.leaf --\nuse \"c.leaf\"\nmass : 345\ng.r[1] : 2.3\n-- c.leaf --\nmass : 340 kg\ntable g\n  r : 2.5, 1.9\n",
			"mass g.", "b.leaf:2:1 given-conflict\nb.leaf:3:1 given-conflict\n",
		},
		{
			"two sheets side by side override one given alike",
			"-- day.leaf --\nuse \"a.leaf\"\nuse \"b.leaf\"\n-- a.leaf --\nuse \"c.leaf\"\nmass : 341\ng.r[1] : 2.4\n" +
				"-- b.leaf --\nuse \"c.leaf\"\nmass : 341000 g\ng.r[1] : 2.40\n-- c.leaf --\nmass : 340 kg\ntable g\n  r : 2.5, 1.9\n",
			"mass g.", "",
		},
		{
			"two sheets side by side override one given, and the sheet above settles it",
			"-- day.leaf --\nuse \"a.leaf\"\nuse \"b.leaf\"\nmass : 350\ng.r[1] : 2.2\n-- a.leaf --\nuse \"c.leaf\"\nmass : 341\ng.r[1] : 2.4\n" +
				"-- b.leaf --\nuse \"c.leaf\"\nmass : 345\ng.r[1] : 2.3\n-- c.leaf --\nmass : 340 kg\ntable g\n  r : 2.5, 1.9\n",
			"mass g.", "",
		},
		{
			"two computed cells of one name",
			"-- day.leaf --\nuse \"a.leaf\"\nuse \"b.leaf\"\n-- a.leaf --\nx : 1\ny = x + 1\n-- b.leaf --\ny = x + 2\n",
			"x y", "b.leaf:1:1 computed-twice\n",
		},
		{
			"two computed cells that say the same",
			"-- day.leaf --\nuse \"a.leaf\"\nuse \"b.leaf\"\n-- a.leaf --\nx : 1\ny = x + 1\n-- b.leaf --\ny =  x  +  1\n",
			"x y", "",
		},
		{
			"a name twice in one file",
			"-- day.leaf --\nx : 1\nx : 1\ntable x\n  y : 1\ntable t\n  y : 1\nt = 3\n",
			"x t.", "day.leaf:2:1 name-duplicate\nday.leaf:3:7 name-duplicate\nday.leaf:7:1 name-duplicate\n",
		},
		{
			"an override twice in one file",
			"-- day.leaf --\nuse \"bike.leaf\"\nmass : 345\nmass : 346\n-- bike.leaf --\nmass : 340 kg\n",
			"mass", "day.leaf:3:1 name-duplicate\n",
		},
		{
			"entries of a table are overridden one by one",
			"-- day.leaf --\nuse \"bike.leaf\"\ngears.ratio[2] : 1.88\n-- bike.leaf --\ntable gears\n  ratio : 2.5, 1.9\n  double = 2 * ratio\n",
			"gears.", "",
		},
		{
			"entries that cannot be overridden",
			"-- day.leaf --\nuse \"bike.leaf\"\ngears.ratio[3] : 1.88\ngears.double[1] : 3\ngears.ratio[1] : 2 m\ngears.ratoi[1] : 2\n" +
				"gears.ratio[2] : 1\ngears.ratio[2] : 1\nfuels.density[1] : 700 kg/m3\n" +
				"-- bike.leaf --\ntable gears\n  ratio : 2.5, 1.9\n  double = 2 * ratio\n",
			"gears.",
			"day.leaf:2:13 entry-row\nday.leaf:3:1 override-computed\nday.leaf:4:18 dimension-mismatch\nday.leaf:5:7 column-unknown\n" +
				"day.leaf:7:1 name-duplicate\nday.leaf:8:1 override-computed\n",
		},
		{
			"worksheets in a circle",
			"-- a.leaf --\nuse \"b.leaf\"\n-- b.leaf --\nuse \"a.leaf\"\nx : 1\n",
			"x", "b.leaf:1:5 use-cycle\n",
		},
		{
			"units are declared wherever they stand",
			"-- day.leaf --\nlong : 2 chain_length\nuse \"units.leaf\"\nunit chain_length = 4 rods\n-- units.leaf --\nunit rods = 5.5 yd\nunit chain_length = 4 rods\n",
			"long", "",
		},
		{
			"a unit declared twice",
			"-- day.leaf --\nuse \"units.leaf\"\nunit chain_length = 4 yd\n-- units.leaf --\nunit chain_length = 5 yd\n",
			"", "units.leaf:1:6 name-duplicate\n",
		},
	} {
		t.Run(c.name, func(t *testing.T) {
			m, list := sheets(t, c.text)
			if got := codes(list); got != c.codes {
				t.Errorf("found\n%swant\n%s", got, c.codes)
				for _, d := range list {
					t.Log(d.Message)
				}
			}
			if got := outline(m); got != c.outline {
				t.Errorf("outline %s, want %s", got, c.outline)
			}
		})
	}
}

// TestDeclarations finds every declaration again after the trees were released:
// of cells beside other statements, of columns in a list, in a grid and in a
// second worksheet, of limits and of functions.
func TestDeclarations(t *testing.T) {
	m, list := sheets(t, "-- day.leaf --\ntitle \"Day\"\nuse \"bike.leaf\"\n# above\nlong = 2 * mass\ntable gears\n  speed = double(ratio)\n"+
		"limit long <= 900 kg \"Too long\"\ntwice = double(long / 1 kg)\nair = standard_pressure(100 ft)\nfuel = first(fuels.density)\n"+
		"-- bike.leaf --\nfunction double(x)\n  y = x + x\n  = y\nmass : 340 kg\ntable gears \"Gears\"\n  | ratio |\n  | 2.5   |\n  | 1.9   |\n  half = ratio / 2\n")
	if list.Errors() {
		t.Fatal(codes(list))
	}
	var got []string
	for _, c := range m.Cells {
		got = append(got, c.Decl().Name.Text)
	}
	for _, c := range m.Columns {
		got = append(got, c.Table.Decl().Name.Text+"."+c.Decl().Name.Text)
	}
	for _, l := range m.Limits {
		got = append(got, syntax.String(l.Decl().Cond))
	}
	for _, in := range m.Instances {
		got = append(got, in.Decl().Name.Text+" of "+in.File.Name)
	}
	want := "mass long twice air fuel gears.ratio gears.half gears.speed fuels.name fuels.carbon fuels.hydrogen fuels.oxygen fuels.nitrogen " +
		"fuels.density fuels.density_slope fuels.lower_heating_value fuels.heat_of_vaporisation fuels.antoine_a fuels.antoine_b fuels.antoine_c " +
		"long <= 900 kg double of bike.leaf standard_pressure of formulas/air.leaf"
	if text := strings.Join(got, " "); text != want {
		t.Errorf("declared are\n%s, want\n%s", text, want)
	}
}

func TestOverride(t *testing.T) {
	m, list := sheets(t, "-- day.leaf --\nuse \"bike.leaf\"\nmass : 345\nroll : 2 m\ngears.ratio[2] : 1.88\n"+
		"-- bike.leaf --\n# weighed with rider\nmass : 340 kg ± 2 %  range 300..360  \"Ready to run\"\nroll : 2085 mm ± 6 mm\ntable gears\n  ratio : 2.5, 1.9\n")
	if list.Errors() {
		t.Fatal(codes(list))
	}
	mass, _ := m.Resolve("mass")
	if mass.Value != 345 || mass.Origin.Label != "Ready to run" || mass.Origin.Note != "weighed with rider" || mass.Range[1] != 360 || mass.Unit.Symbol != "kg" {
		t.Errorf("mass %+v", mass)
	}
	if mass.Spread != 6.9 || mass.Tolerance != check.Limits {
		t.Errorf("2 %% of 345 kg is %v", mass.Spread)
	}
	if decl := syntax.String(mass.Decl().Values[0]); decl != "340 kg" {
		t.Errorf("mass is declared as %s", decl)
	}
	if roll, _ := m.Resolve("roll"); roll.Value != 2 || roll.Spread != 0.006 || roll.Unit.Symbol != "mm" {
		t.Errorf("roll %v ± %v %s", roll.Value, roll.Spread, roll.Unit.Symbol)
	}
	_, ratio := m.Resolve("gears.ratio")
	if fmt.Sprint(ratio.Values) != "[2.5 1.88]" || len(ratio.Entries) != 1 || ratio.Entries[0].Row != 1 {
		t.Errorf("ratio %v %v", ratio.Values, ratio.Entries)
	}
}

func TestPlug(t *testing.T) {
	m, list := sheets(t, "-- day.leaf --\nuse \"boost.leaf\"\nuse \"air.leaf\"\nsum = ambient * 2\n"+
		"-- boost.leaf --\nambient : 14 psia \"From the air sheet\"\ntwice = 2 * ambient\n-- air.leaf --\nreading : 29.9 inHg\nambient = reading - 1 kPad\n")
	if list.Errors() {
		t.Fatal(codes(list))
	}
	if len(m.Plugs) != 1 {
		t.Fatalf("%d plugs", len(m.Plugs))
	}
	p := m.Plugs[0]
	if !p.Given.Plugged || p.Given.Given || p.Source.Given || p.Given.Unit.Symbol != "psia" || p.Source.Unit.Symbol != "inHg" {
		t.Errorf("plug %+v from %+v", p.Given, p.Source)
	}
	if c, _ := m.Resolve("ambient"); c != p.Source {
		t.Errorf("ambient is %v", c)
	}
	if n := m.Node(p.Given.Formula); n.Op != check.CellRef || n.Ref() != p.Source.Index {
		t.Errorf("the given's formula is %v", n)
	}
	for _, name := range []string{"twice", "sum"} {
		c, _ := m.Resolve(name)
		found := false
		for i := range m.Nodes {
			n := &m.Nodes[i]
			found = found || n.Op == check.CellRef && n.Ref() == p.Source.Index && check.NodeID(i) < c.Formula
		}
		if !found {
			t.Errorf("%s does not look at the computing cell", name)
		}
	}
}

func TestCSV(t *testing.T) {
	log := "-- log.csv --\nTime,Engine rpm,Rider,Wet\n0,9000,Ann,yes\n0.1,,Bob,no\n0.2,9200,Ann,yes\n"
	for _, c := range []struct{ name, text, codes string }{
		{"plain", "-- a.leaf --\ntable log from \"log.csv\"\n  time : from \"Time\" s\n  speed : from \"Engine rpm\" rpm\n  rider : from \"Rider\"\n  wet : from \"Wet\"\n  twice = speed * 2\n" + log, ""},
		{"no such column", "-- a.leaf --\ntable log from \"log.csv\"\n  speed : from \"Engine RPM\" rpm\n" + log, "a.leaf:2:16 csv-column\n"},
		{"text in a number column", "-- a.leaf --\ntable log from \"log.csv\"\n  speed : from \"Rider\" rpm\n" + log, "a.leaf:2:16 csv-mistake\n"},
		{"two heads alike", "-- a.leaf --\ntable log from \"log.csv\"\n  t : from \"Time\" s\n-- log.csv --\nTime,Time\n1,2\n", "a.leaf:2:12 csv-mistake\n"},
		{"a column of another length", "-- a.leaf --\ntable log from \"log.csv\"\n  t : from \"Time\" s\n  x : 1, 2\n" + log, "a.leaf:3:3 column-length\n"},
		{"no file", "-- a.leaf --\ntable log from \"gone.csv\"\n  t : from \"Time\" s\n  x = t * 2\nlast_t = last(log.t)\n", ""},
	} {
		t.Run(c.name, func(t *testing.T) {
			_, list := sheets(t, c.text)
			if got := codes(list); got != c.codes {
				t.Errorf("found\n%swant\n%s", got, c.codes)
			}
		})
	}
	m, _ := sheets(t, "-- a.leaf --\ntable log from \"log.csv\"\n  speed : from \"Engine rpm\" rpm\n  rider : from \"Rider\"\n  wet : from \"Wet\"\n  twice = speed * 2\n"+log)
	_, speed := m.Resolve("log.speed")
	_, twice := m.Resolve("log.twice")
	_, rider := m.Resolve("log.rider")
	_, wet := m.Resolve("log.wet")
	if m.Tables[0].Rows != 3 || speed.Values[0] != 150 || speed.Values[1] == speed.Values[1] || !speed.Type.MayBlank || !twice.Type.MayBlank {
		t.Errorf("speed %v, %v", speed.Values, speed.Type)
	}
	if rider.Type.Form != check.Text || m.Texts[int(rider.Values[1])] != "Bob" || rider.Type.MayBlank {
		t.Errorf("rider %v", rider.Values)
	}
	if wet.Type.Form != check.Truth || fmt.Sprint(wet.Values) != "[1 0 1]" {
		t.Errorf("wet %v", wet.Values)
	}
	m, _ = sheets(t, "-- a.leaf --\ntable log from \"gone.csv\"\n  t : from \"Time\" s\n")
	if tab := m.Tables[0]; tab.Fault != "gone.csv cannot be read: no such file" || tab.Rows != 0 || tab.Columns[0].Unit.Symbol != "s" {
		t.Errorf("table %+v", tab)
	}
}
