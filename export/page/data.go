package page

import (
	"maps"
	"path/filepath"
	"slices"

	"gearleaf/sheet"
	"gearleaf/sheet/check"
	"gearleaf/sheet/kernel"
	"gearleaf/sheet/program/wasm"
	"gearleaf/sheet/unit"
)

// The data of a page, for its script: the checked sheet without its text. The
// names are short because a long table repeats them; PAGE.md does not promise
// them.
type (
	pageData struct {
		File       string         `json:"file"` // the worksheet's name, without its folder
		Hash       string         `json:"hash"` // of everything the numbers come from
		Settings   []string       `json:"settings,omitempty"`
		Live       bool           `json:"live,omitempty"` // the page is served
		Site       bool           `json:"site,omitempty"` // the page is one of a site
		Style      string         `json:"style"`          // of what the script adds
		Texts      []string       `json:"texts"`
		Units      []unitData     `json:"units"`
		Cells      []cellData     `json:"cells"`
		Columns    []columnData   `json:"columns"`
		Tables     []tableData    `json:"tables"`
		Limits     []limitData    `json:"limits"`
		Advices    []adviceData   `json:"advices"`
		Charts     []chartData    `json:"charts"`
		Layout     layoutData     `json:"layout"`
		Curves     []curveData    `json:"curves"`
		Functions  []functionData `json:"functions"`
		Intrinsics []intrinsic    `json:"intrinsics"`
	}
	// layoutData has the module's addresses of values, from wasm.Layout: in
	// units of 8 bytes, each less the one before, which compresses well. For a
	// table it is that of the number of live rows and how it ended, for a
	// verdict that of the value and, after it, the row.
	layoutData struct {
		Cells    []int    `json:"cells"`
		Columns  []int    `json:"columns"`
		Tables   []int    `json:"tables"`
		Verdicts []int    `json:"verdicts"`
		Streams  [][2]int `json:"streams"` // of the module's bytes, from split
	}
	unitData struct {
		Symbol string     `json:"s"`
		Scale  float64    `json:"k"`
		Offset float64    `json:"o,omitempty"`
		Reads  []readData `json:"reads,omitempty"` // other units that a given in this one can be typed in
	}
	readData struct {
		Symbol string  `json:"s"`
		Scale  float64 `json:"k"`
		Offset float64 `json:"o,omitempty"`
	}
	quantityData struct {
		Name     string    `json:"n"`
		Label    string    `json:"l,omitempty"`
		Given    bool      `json:"g,omitempty"`
		Form     int       `json:"f,omitempty"` // 0 number, 1 truth, 2 text
		Unit     int       `json:"u"`           // in Units, -1 for none
		To       float64   `json:"to,omitempty"`
		Whole    bool      `json:"w,omitempty"`
		MayBlank bool      `json:"b,omitempty"`
		Points   bool      `json:"p,omitempty"` // a temperature on a scale: a change of it has no percent
		Range    []float64 `json:"r,omitempty"`
		Choice   []float64 `json:"c,omitempty"`
		Typed    []string  `json:"ty,omitempty"` // digits of values that are shown as they were typed
		Formula  string    `json:"e,omitempty"`
	}
	cellData struct {
		quantityData
		Value   *float64 `json:"v,omitempty"` // of a given; absent for a blank
		Plugged bool     `json:"x,omitempty"`
	}
	columnData struct {
		quantityData
		Table  int        `json:"t"`
		Values []*float64 `json:"v,omitempty"`
		Start  string     `json:"st,omitempty"`
		Looped bool       `json:"lo,omitempty"`
		File   bool       `json:"ff,omitempty"` // its values come from a file
	}
	tableData struct {
		Name    string `json:"n"`
		Rows    int    `json:"r"`
		Until   string `json:"u,omitempty"`
		Fault   string `json:"x,omitempty"`
		Library bool   `json:"l,omitempty"`
		Loop    []int  `json:"lo,omitempty"`
		Columns []int  `json:"c"`
	}
	limitData struct {
		Text    string `json:"t"`
		Message string `json:"m,omitempty"`
		Advise  bool   `json:"a,omitempty"`
		Cond    string `json:"e"`
		Table   int    `json:"tb"`          // -1 for none
		Parts   []any  `json:"p"`           // the condition, texts and the places of its values
		Pairs   []any  `json:"q,omitempty"` // the numbers that it compares: a part, or a literal and its unit
	}
	adviceData struct {
		Cell   int    `json:"c"` // -1 for none
		Column int    `json:"k"`
		Text   string `json:"t"`
	}
	chartData struct {
		Title string   `json:"t"`
		X     int      `json:"x"`
		Y     []int    `json:"y"`
		Axes  []string `json:"a"` // what the axes show
		Names []string `json:"s"` // of the series
	}
	// functionData is a function of the library, intrinsic one of the kernel,
	// with the names that the module exports for one and for two arguments.
	functionData struct {
		Name   string   `json:"n"`
		Params int      `json:"p"`
		Steps  []string `json:"s,omitempty"`
		Result string   `json:"e"`
	}
	intrinsic struct {
		Name   string `json:"n"`
		Domain string `json:"d,omitempty"`
		One    string `json:"o,omitempty"`
		Two    string `json:"t,omitempty"`
	}
	// curveData is a pair of columns for look-ups, and its address in the
	// module.
	curveData struct {
		X    int               `json:"x"`
		Y    int               `json:"y"`
		Form kernel.LookupForm `json:"f"`
		At   int               `json:"at"`
	}
)

// maker makes the data of one page.
type maker struct {
	in    Input
	m     *check.Model
	out   pageData
	units map[unit.Unit]int

	exports []string // the functions of the kernel that the script calls
}

// data returns the data for the script of the page, and the module's bytes in
// its format.
func data(in Input) (*pageData, []byte) {
	d := &maker{in: in, m: in.Sheet.Model, units: map[unit.Unit]int{}}
	d.out = pageData{
		Hash: in.Hash, Texts: d.m.Texts,
		Curves: []curveData{}, Style: live(), Settings: settings(in.Sheet), Live: in.Live, Site: in.Site,
		Units: []unitData{}, Cells: []cellData{}, Columns: []columnData{}, Tables: []tableData{}, Limits: []limitData{},
		Advices: []adviceData{}, Charts: []chartData{}, Functions: []functionData{}, Intrinsics: []intrinsic{},
	}
	d.out.File = filepath.Base(d.m.Files[0].File.Name)
	if d.out.Texts == nil {
		d.out.Texts = []string{}
	}
	d.functions()
	d.cells()
	d.columns()
	d.tables()
	d.limits()
	d.charts()
	module := wasm.Compact(in.Sheet.Program.Sheet(), d.exports)
	d.layout(&module.Layout)
	code, streams := split(module.Code)
	for _, s := range streams {
		d.out.Layout.Streams = append(d.out.Layout.Streams, [2]int{s.opcode, s.length})
	}
	return &d.out, code
}

// settings lists the values that replace givens of the text, in the notation of
// --set.
func settings(s *sheet.Sheet) []string {
	var out []string
	for _, set := range s.Settings {
		p := sheet.Place{Cell: set.Cell, Column: set.Column, Row: set.Row}
		out = append(out, p.Name()+"="+s.Text(p.Quantity(), set.Value))
	}
	return out
}

// quantity returns the common data of cells and columns.
func (d *maker) quantity(q *check.Quantity) quantityData {
	out := quantityData{
		Name: q.Name, Label: q.Origin.Label, Given: q.Given && !q.Plugged, Form: int(q.Type.Form), Unit: -1,
		To: q.To, Whole: q.Whole, MayBlank: q.Type.MayBlank, Choice: q.Choice, Formula: d.formula(q.Formula),
		Typed: slices.Sorted(maps.Values(q.Typed)),
	}
	if q.Type.Form == check.Number {
		out.Unit = d.unit(q.Unit, out.Given)
		out.Points = q.Type.Measure.Kind == unit.Absolute && q.Type.Measure.Dim == kelvin
	}
	if q.Range != nil {
		out.Range = q.Range[:]
	}
	return out
}

// kelvin is the dimension of a temperature.
var kelvin = unit.Dimension{unit.Temperature: {Num: 1}}

// unit returns the place of u among the units of the page. For a given it also
// records the units in which it can be typed.
func (d *maker) unit(u unit.Unit, given bool) int {
	at, known := d.units[u]
	if !known {
		at = len(d.out.Units)
		d.units[u] = at
		d.out.Units = append(d.out.Units, unitData{Symbol: u.Symbol, Scale: u.Scale, Offset: u.Offset})
	}
	if row := &d.out.Units[at]; given && row.Reads == nil {
		row.Reads = reads(d.m.Units, u)
	}
	return at
}

func (d *maker) cells() {
	for _, c := range d.m.Cells {
		row := cellData{quantityData: d.quantity(&c.Quantity), Plugged: c.Plugged}
		row.Label = "" // the document has it
		if row.Given {
			row.Value = flight(d.in.value(sheet.Place{Cell: c}))
		}
		d.out.Cells = append(d.out.Cells, row)
	}
}

func (d *maker) columns() {
	for _, c := range d.m.Columns {
		row := columnData{
			quantityData: d.quantity(&c.Quantity), Table: c.Table.Index, Start: d.formula(c.Start), Looped: c.Looped && !c.Given,
			File: c.Given && c.Table.From != "",
		}
		if row.Given {
			for i := range c.Values {
				row.Values = append(row.Values, flight(d.in.value(sheet.Place{Column: c, Row: i})))
			}
		}
		d.out.Columns = append(d.out.Columns, row)
	}
}

// flight returns a given value for the script; nil for a blank.
func flight(v float64) *float64 {
	if v != v {
		return nil
	}
	return &v
}

func (d *maker) tables() {
	for _, t := range d.m.Tables {
		row := tableData{Name: t.Name, Rows: t.Rows, Until: d.formula(t.Until), Fault: t.Fault, Library: t.Library}
		for _, c := range t.Loop {
			row.Loop = append(row.Loop, int(c.Index))
		}
		for _, c := range t.Columns {
			row.Columns = append(row.Columns, int(c.Index))
		}
		d.out.Tables = append(d.out.Tables, row)
	}
}

func (d *maker) limits() {
	for _, l := range d.m.Limits {
		row := limitData{Text: l.Text, Message: l.Message, Advise: l.Advise, Cond: d.formula(l.Cond), Table: -1}
		row.Parts, row.Pairs = d.limitParts(l)
		if l.Table != nil {
			row.Table = l.Table.Index
		}
		d.out.Limits = append(d.out.Limits, row)
	}
	for _, a := range d.m.Advices {
		row := adviceData{Cell: -1, Column: -1, Text: a.Text}
		if a.Cell != nil {
			row.Cell = int(a.Cell.Index)
		} else {
			row.Column = int(a.Column.Index)
		}
		d.out.Advices = append(d.out.Advices, row)
	}
}

// limitParts returns the condition of l as texts and places: a cell's index c,
// a column's k with a row r, or with a cell x that gives it, from 1; of r, -1 is
// the row that breaks the limit, -2 the first and -3 the last one with a value,
// -4 that of the greatest value and -5 of the smallest; -6, -7 and -8 are the sum,
// the mean and the count. f marks a value that is shown without regard to its
// step. A list of two texts has the second one for a limit that is broken.
func (d *maker) limitParts(l *check.Limit) (out, compared []any) {
	parts, pairs := d.in.Result.LimitParts(l)
	for _, p := range parts {
		place := map[string]int{}
		if p.Full {
			place["f"] = 1
		}
		switch {
		case p.RowOf != nil:
			place["k"], place["x"] = int(p.Place.Column.Index), int(p.RowOf.Index)
			out = append(out, place)
		case p.Place.Cell != nil:
			place["c"] = int(p.Place.Cell.Index)
			out = append(out, place)
		case p.Place.Column != nil:
			place["k"], place["r"] = int(p.Place.Column.Index), p.Place.Row
			out = append(out, place)
		case p.Broken != "":
			out = append(out, []string{p.Text, p.Broken})
		default:
			out = append(out, p.Text)
		}
	}
	for _, pair := range pairs {
		compared = append(compared, []any{d.limitSide(pair[0]), d.limitSide(pair[1])})
	}
	return out, compared
}

// limitSide returns a number that is compared: the place of its part, or a
// literal with its unit.
func (d *maker) limitSide(s sheet.LimitSide) any {
	if s.Part >= 0 {
		return s.Part
	}
	return []any{s.Number, d.unit(s.Unit, false)}
}

func (d *maker) charts() {
	for i, c := range d.m.Charts {
		drawn := d.in.Charts[i]
		row := chartData{Title: c.Title, X: int(c.X.Index), Axes: []string{drawn.X, drawn.Y}}
		for k, y := range c.Y {
			row.Y = append(row.Y, int(y.Index))
			row.Names = append(row.Names, drawn.Series[k].Name)
		}
		d.out.Charts = append(d.out.Charts, row)
	}
}

// layout returns the memory layout of the module.
func (d *maker) layout(l *wasm.Layout) {
	var columns, tables, verdicts []int
	for _, c := range l.Columns {
		columns = append(columns, c.At)
	}
	for _, t := range l.Tables {
		tables = append(tables, t.Live)
	}
	for _, v := range l.Verdicts {
		verdicts = append(verdicts, v.Value, v.Row)
	}
	d.out.Layout = layoutData{Cells: steps(l.Cells), Columns: steps(columns), Tables: steps(tables), Verdicts: steps(verdicts)}
	for i := range d.out.Curves {
		row := &d.out.Curves[i]
		for _, c := range l.Curves {
			if int(c.Xs) == row.X && int(c.Ys) == row.Y && c.Form == row.Form {
				row.At = c.At
			}
		}
	}
}

// steps returns addresses in units of 8 bytes, each less the one before.
func steps(addresses []int) []int {
	out, before := []int{}, 0
	for _, at := range addresses {
		out = append(out, at/8-before)
		before = at / 8
	}
	return out
}
