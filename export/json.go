package export

import (
	"encoding/json"
	"io"
	"math"
	"strconv"

	"gearleaf/sheet"
	"gearleaf/sheet/check"
)

// The structure of the JSON, for programs that read a sheet's values. Numbers
// are not rounded; a blank is null, and so is a fault, whose cause has its own
// field.
type (
	jsonSheet struct {
		Title   string       `json:"title"`
		Set     []setJSON    `json:"set"`
		Cells   []jsonCell   `json:"cells"`
		Tables  []jsonTable  `json:"tables"`
		Advices []jsonAdvice `json:"advices"`
		Limits  []jsonLimit  `json:"limits"`
	}
	jsonCell struct {
		Name      string   `json:"name"`
		Kind      string   `json:"kind"` // given or computed
		Section   string   `json:"section"`
		Label     string   `json:"label"`
		Value     any      `json:"value"` // in the shown unit; a text; true or false
		Unit      string   `json:"unit"`
		SI        *float64 `json:"si"`
		Dimension string   `json:"dimension"` // the unit of si
		Text      string   `json:"text"`      // for people, with the unit
		Fault     *string  `json:"fault"`
	}
	jsonTable struct {
		Name    string       `json:"name"`
		Rows    int          `json:"rows"`
		Live    int          `json:"live_rows"`
		Fault   *string      `json:"fault"` // why its file could not be read
		Columns []jsonColumn `json:"columns"`
	}
	jsonColumn struct {
		Name   string            `json:"name"`
		Unit   string            `json:"unit"`
		Values []any             `json:"values"`
		SI     []*float64        `json:"si"`
		Faults map[string]string `json:"faults"` // by row, from 1
	}
	jsonAdvice struct {
		Cell string `json:"cell"`
		Text string `json:"text"`
	}
	jsonLimit struct {
		Text    string `json:"text"`
		Message string `json:"message"`
		State   string `json:"state"` // kept, broken, advised or waiting
	}
)

// writeJSON writes every value of the sheet.
func writeJSON(w io.Writer, s *sheet.Sheet, r *sheet.Result, _ Options) (Report, error) {
	if err := Reportable(r); err != nil {
		return Report{}, err
	}
	out := jsonSheet{
		Title: s.Model.Title, Set: setOf(s),
		Cells: []jsonCell{}, Tables: []jsonTable{}, Advices: []jsonAdvice{}, Limits: []jsonLimit{},
	}
	for _, c := range ownCells(s.Model) {
		out.Cells = append(out.Cells, jsonCellOf(s, r, c))
	}
	for _, t := range ownTables(s.Model) {
		out.Tables = append(out.Tables, jsonTableOf(s, r, t))
	}
	for _, a := range r.Advices() {
		out.Advices = append(out.Advices, jsonAdvice(a))
	}
	for _, l := range s.Model.Limits {
		state, _ := r.Limit(l)
		out.Limits = append(out.Limits, jsonLimit{Text: l.Text, Message: l.Message, State: state.String()})
	}
	e := json.NewEncoder(w)
	e.SetEscapeHTML(false)
	e.SetIndent("", "  ")
	return Report{}, e.Encode(out)
}

func jsonCellOf(s *sheet.Sheet, r *sheet.Result, c *check.Cell) jsonCell {
	v := r.Cell(c)
	f := figureOf(s, &c.Quantity, v)
	out := jsonCell{
		Name: c.Name, Kind: kindOf(&c.Quantity), Section: c.Origin.Section, Label: c.Origin.Label,
		Value: jsonValue(&c.Quantity, v, f), Unit: symbol(c.Unit),
	}
	if c.Type.Form == check.Number {
		out.Dimension = s.Model.Units.Compose(c.Type.Measure)
	}
	if f.numeric {
		out.SI = &f.si
	}
	if f.fault != "" {
		out.Fault = &f.fault
	} else {
		out.Text = s.Text(&c.Quantity, v.V)
	}
	return out
}

// jsonValue returns a value for JSON; nil for a blank and a fault.
func jsonValue(q *check.Quantity, v sheet.Value, f figure) any {
	switch {
	case f.blank || f.fault != "":
		return nil
	case f.numeric && math.IsInf(f.number, 0):
		return nil // too large for a number in this unit; si has it
	case f.numeric:
		return f.number
	case q.Type.Form == check.Truth:
		return v.V != 0
	}
	return f.text
}

func jsonTableOf(s *sheet.Sheet, r *sheet.Result, t *check.Table) jsonTable {
	live, _ := r.Live(t)
	out := jsonTable{Name: t.Name, Rows: t.Rows, Live: live, Columns: []jsonColumn{}}
	if t.Fault != "" {
		out.Fault = &t.Fault
	}
	for _, c := range t.Columns {
		col := jsonColumn{
			Name: c.Name, Unit: symbol(c.Unit), Faults: map[string]string{},
			Values: make([]any, live), SI: make([]*float64, live),
		}
		for row := range live {
			v := r.Entry(c, row)
			f := figureOf(s, &c.Quantity, v)
			col.Values[row] = jsonValue(&c.Quantity, v, f)
			if f.numeric {
				col.SI[row] = &f.si
			}
			if f.fault != "" {
				col.Faults[strconv.Itoa(row+1)] = f.fault
			}
		}
		out.Columns = append(out.Columns, col)
	}
	return out
}
