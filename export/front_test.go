package export

import (
	"bytes"
	"math"
	"os"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"github.com/xuri/excelize/v2"

	"gearleaf/sheet"
)

const frontText = `title "Front"
section "Drive"
rear   : 41 teeth  range 30..60
front  : 17 teeth
final  = rear / front   to 0.001  "Final ratio"
speed  : 180 mph
empty  = 1 / (rear - 41 teeth) * 1 teeth
table gears
  ratio  : 2.5, 1.9, 1.5
  overall = ratio * final
  drop    = next(ratio) / ratio
section "Boxes"
table looks
  look : "tyre", "slack"
  done : ,
limit final <= 3             "Too tall"
limit speed <= 170 mph       "The tyre bursts"
limit 2 <= final <= 2.4      "Outside the box"
advise rear >= 40 teeth      "Small"
`

// cellsOf returns the cells of a tab as they are shown.
func cellsOf(t *testing.T, data []byte, tab string) map[string]string {
	t.Helper()
	out := map[string]string{}
	for ref, f := range readGrid(t, data)[tab] {
		out[ref] = f.value
	}
	return out
}

// TestFrontAnswersFirst: row 2 names the broken limits; broken limits come
// first, with sides, margin and reason; the sheet keeps its order.
func TestFrontAnswersFirst(t *testing.T) {
	s := load(t, "front", strings.Replace(frontText, "done : ,", "done : 1, 1", 1))
	data, _ := s.workbook(t)
	front := cellsOf(t, data, "Sheet")
	if got := front["A2"]; got != "2 of 3 limits broken: speed <= 170 mph; 2 <= final <= 2.4" {
		t.Errorf("row 2 says %q", got)
	}
	for ref, want := range map[string]string{
		"A5": "speed <= 170 mph", "B5": "broken", "C5": "-10", "D5": "mph", "E5": "180", "F5": "", "G5": "170", "H5": "mph", "A6": "The tyre bursts",
		"A7": "2 <= final <= 2.4", "C7": "-0.012", "E7": "2.412", "F7": "2", "G7": "2.4", "A9": "final <= 3", "B9": "kept", "B11": "kept",
	} {
		if front[ref] != want {
			t.Errorf("%s shows %q, not %q", ref, front[ref], want)
		}
	}
	var order []string
	b := newBook(s.s, s.r)
	for _, l := range b.front.lines {
		switch {
		case l.cell != nil:
			order = append(order, l.cell.Name)
		case l.kind == sectionLine:
			order = append(order, "§"+l.text)
		case l.kind == tableHeadLine:
			order = append(order, "table "+l.tab.t.Name)
		}
	}
	if got, want := strings.Join(order, ", "), "§Drive, rear, front, final, speed, empty, table gears, §Boxes, table looks"; got != want {
		t.Errorf("the front has %s", got)
	}
	row := b.cells[4].row
	if got := front[at(remarkColumn, row)]; !strings.Contains(got, "division by zero") {
		t.Errorf("the cause of a fault is given as %q", got)
	}
	// The row below a short table is empty: `next` of its last row is there.
	for _, table := range b.tables {
		if below := at(1, table.first+table.t.Rows); table.host != nil && front[below] != "" {
			t.Errorf("%s, below the table %s, holds %q", below, table.t.Name, front[below])
		}
	}
}

// TestBoxesTakeAMark: a mark in a box is nothing that is read back.
func TestBoxesTakeAMark(t *testing.T) {
	text := "a : 1\ntable looks\n  | look | done |\n  | \"tyre\" | |\n  | \"slack\" | |\nb = 2 * a\n"
	s := load(t, "boxes", text)
	data, _ := s.workbook(t)
	f, err := excelize.OpenReader(bytes.NewReader(data))
	if err != nil {
		t.Fatal(err)
	}
	e := &edited{t: t, f: f}
	e.set("looks.done[2]", "x")
	e.set("a", 3)
	path := filepath.Join(t.TempDir(), "boxes.xlsx")
	e.must(f.SaveAs(path))
	back, _, err := OpenReturned(path, s.s)
	if err != nil {
		t.Fatal(err)
	}
	m, err := back.Merge(s.s)
	if err != nil || m.Blocked() || len(m.Settings) != 1 || m.Settings[0].Name() != "a" {
		t.Errorf("%+v (%v)", m, err)
	}
}

// TestUsedSheetsHaveTabs: the page of a sheet that uses others has its own
// lines; what it sets of the others is entered on a tab beside it.
func TestUsedSheetsHaveTabs(t *testing.T) {
	s, list := sheet.FromTexts([]sheet.Text{
		{Name: "day.leaf", Text: "title \"Day\"\ntwice = 2 * speed\nuse \"bike.leaf\"\nspeed : 12 mph\n"},
		{Name: "bike.leaf", Text: "title \"Bike\"\ncaution \"Hot\"\nsection \"Air\"\nspeed : 10 mph\nother = speed * 3\nlimit other <= 50 mph\n"},
	})
	made := computed(t, "day", s, list)
	data, _ := made.write(t)
	g := readGrid(t, data)
	b := newBook(made.s, made.r)
	places := map[string]string{}
	for i, c := range made.s.Model.Cells {
		places[c.Name] = b.cells[i].leaf.name
	}
	for name, tab := range map[string]string{"twice": "Sheet", "speed": entriesTab, "other": "Bike"} {
		if places[name] != tab {
			t.Errorf("%s is on the tab %s, not %s", name, places[name], tab)
		}
	}
	shown := ""
	for _, f := range g["Bike"] {
		shown += f.formula + "|" + f.value + "|"
	}
	if !strings.Contains(shown, "|Hot|") || !strings.Contains(shown, "speed_|12|") {
		t.Errorf("the tab of the used sheet has %s", shown)
	}
	if !b.front.onePage {
		t.Error("the page is not on one page of paper")
	}
}

// TestChartsFollowLiveRows: points of a table whose length moves are taken from
// its live rows, the last one among them.
func TestChartsFollowLiveRows(t *testing.T) {
	text, err := os.ReadFile("testdata/steps.leaf")
	if err != nil {
		t.Fatal(err)
	}
	s := load(t, "steps", string(text))
	data, _ := s.workbook(t)
	drawn := plots(s.s.Model)
	if len(drawn) == 0 {
		t.Fatal("no chart")
	}
	g := readGrid(t, data)[chartDataTab]
	p := drawn[0]
	last := g[at(1, chartDataFirst+p.points()-1)]
	live, _ := s.r.Live(p.x.Table)
	if want := strconv.Itoa(live); last.value != want || !strings.Contains(last.formula, "_rows") {
		t.Errorf("the last point is row %s by %s; %s are live", last.value, last.formula, want)
	}
	for ref, f := range g {
		if f.kind == "e" {
			t.Errorf("%s has no value: %s", ref, f.formula)
		}
	}
}

// TestChartsOfOneUnitEach: a chart line over columns in two units becomes two
// charts; names as x values get bars.
func TestChartsOfOneUnitEach(t *testing.T) {
	s := load(t, "units", "table gears\n  gear : 1, 2\n  speed : 50, 60 mph\n  turns : 9000, 9500 rpm\n  box : \"a\", \"b\"\n"+
		"chart \"Both\" x gears.gear y gears.speed, gears.turns\nchart \"Named\" x gears.box y gears.speed\n")
	drawn := Pictures(s.s, s.r)
	if len(drawn) != 3 || drawn[0].Title != "Both, mph" || drawn[1].Title != "Both, rpm" || drawn[2].Places == nil {
		t.Fatalf("%+v", drawn)
	}
	if !strings.HasPrefix(drawn[2].Seen, "Named. Bars over Box, 2 of them, a to b: Speed from 50 mph to 60 mph") {
		t.Errorf("what is seen: %s", drawn[2].Seen)
	}
	if len(Drawn(s.s, s.r)) != 2 {
		t.Error("the page has other charts than the sheet")
	}
	data, _ := s.workbook(t)
	_, parts := partsOf(t, data)
	bars := 0
	for name, part := range parts {
		if strings.HasPrefix(name, "xl/charts/chart") && bytes.Contains(part, []byte("barChart")) {
			bars++
		}
	}
	if bars != 1 {
		t.Errorf("%d charts have bars", bars)
	}
}

// TestChartsOfFewRows: a line of one live row has a dot, and bars are those of the
// live rows alone.
func TestChartsOfFewRows(t *testing.T) {
	s := load(t, "few", "table runs until n >= 2\n  name : \"a\", \"b\", \"c\"\n  n = prev(n) + 1 start 1\n"+
		"table long rows 60 until n >= 1\n  n = prev(n) + 1 start 1\nchart \"Bars\" x runs.name y runs.n\nchart \"Line\" x long.n y long.n\n")
	data, _ := s.workbook(t)
	g := readGrid(t, data)[chartDataTab]
	for ref, want := range map[string]string{"A2": "1", "A3": "2", "A4": "#N/A", "B3": "b", "B4": "", "C3": "2", "C4": "#N/A"} {
		if g[ref].value != want {
			t.Errorf("%s holds %q, not %q", ref, g[ref].value, want)
		}
	}
	_, parts := partsOf(t, data)
	if n := bytes.Count(parts["xl/charts/chart2.xml"], []byte(`<dPt><idx val="0"></idx><marker><symbol val="circle">`)); n != 1 {
		t.Errorf("%d lines have a dot", n)
	}
}

// TestTextWidths compares widths of texts with those of Calibri, whose digit is 1038
// units wide (from the font's table of advances).
func TestTextWidths(t *testing.T) {
	if len(letterWidths) != '~'-' '+1 {
		t.Fatalf("%d widths", len(letterWidths))
	}
	for text, units := range map[string]float64{"0": 1038, "9": 1038, "m": 1636, "i": 470, " ": 463, "W": 1822, "~": 1020, "Predicted": 8047} {
		if got := textWidth(text) / 1.02 * 1038; math.Abs(got-units) > 11*float64(len(text)) {
			t.Errorf("%q is %.0f units wide, not %.0f", text, got, units)
		}
	}
	if wrapped("Power, more by", 20) != 1 || wrapped("Power, more by", 9) != 2 || wrapped("a\nb", 9) != 2 {
		t.Error("other lines")
	}
}

// mostFrozen is how high the frozen rows of a tab may be, in points: half of the
// 250 pixels that a phone on its side shows between the bars of a program.
const mostFrozen = 250 / 2 * 0.75

// TestFrozenRowsLeaveAPhoneRoom adds up the frozen rows of every tab, also of
// answers.
func TestFrozenRowsLeaveAPhoneRoom(t *testing.T) {
	pane := regexp.MustCompile(`<pane [^>]*ySplit="(\d+)"`)
	height := regexp.MustCompile(`<row r="(\d+)"(?: ht="([0-9.]+)")?`)
	books := answerBooks(t)
	for _, s := range samples(t) {
		if strings.HasPrefix(s.name, "template-") {
			books[s.name], _ = s.workbook(t)
		}
	}
	frozen := 0
	for name, data := range books {
		_, parts := partsOf(t, data)
		for part, text := range parts {
			m := pane.FindSubmatch(text)
			if m == nil {
				continue
			}
			rows, _ := strconv.Atoi(string(m[1]))
			high := 15 * float64(rows)
			for _, r := range height.FindAllSubmatch(text, rows) {
				if row, _ := strconv.Atoi(string(r[1])); row <= rows && len(r[2]) > 0 {
					points, _ := strconv.ParseFloat(string(r[2]), 64)
					high += points - 15
				}
			}
			if frozen++; high > mostFrozen {
				t.Errorf("%s: %s: %d frozen rows are %.0f points high", name, part, rows, high)
			}
		}
	}
	if frozen == 0 {
		t.Error("no tab has frozen rows")
	}
}

// phoneWide is how many pixels a phone held upright shows of a tab.
const phoneWide = 380

// TestFrontFitsAPhone adds up the columns of label, value and unit of every tab in
// lines at full size: a character of a column's width has seven pixels.
func TestFrontFitsAPhone(t *testing.T) {
	column := regexp.MustCompile(`<col min="(\d+)" max="(\d+)" width="([0-9.]+)"`)
	s := load(t, "front", strings.Replace(frontText, "done : ,", "done : 1, 1", 1))
	data, _ := s.workbook(t)
	_, parts := partsOf(t, data)
	wide := 0.0
	for _, m := range column.FindAllStringSubmatch(string(parts["xl/worksheets/sheet1.xml"]), -1) {
		first, _ := strconv.Atoi(m[1])
		last, _ := strconv.Atoi(m[2])
		width, _ := strconv.ParseFloat(m[3], 64)
		for c := first; c <= min(last, unitColumn); c++ {
			wide += 7 * width
		}
	}
	if wide > phoneWide || wide < phoneWide/2 {
		t.Errorf("the first columns are %.0f pixels wide, a phone %d", wide, phoneWide)
	}
}
