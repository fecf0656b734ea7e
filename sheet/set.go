package sheet

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"gearleaf/sheet/check"
	"gearleaf/sheet/diag"
	"gearleaf/sheet/kernel"
	"gearleaf/sheet/program"
	"gearleaf/sheet/source"
	"gearleaf/sheet/syntax"
	"gearleaf/sheet/whatif"
)

// Setting is a value `name=quantity` that replaces a given.
type Setting struct {
	whatif.Setting
	Expr syntax.Expr // the quantity as typed
}

// ParseSetting reads `name=quantity` or `gears.ratio[3]=1.42`; a bare number
// takes the unit in which the given is shown.
func (s *Sheet) ParseSetting(text string) (Setting, *diag.Diagnostic) {
	name, value, ok := strings.Cut(text, "=")
	if !ok {
		return Setting{}, settingError("%q has no = in it: write name=quantity", text)
	}
	set, d := s.ParseGiven(strings.TrimSpace(name))
	if d != nil {
		return set, d
	}
	if value = strings.TrimSpace(value); strings.HasPrefix(value, "+") {
		return set, settingError("%s=%s may mean the value or how much more: write the new value without the sign", set.Name(), value)
	}
	if set.Expr, d = ReadQuantity(set.Name(), value); d != nil {
		return set, d
	}
	v, d := s.Model.Admit(set.Quantity(), set.Expr)
	if d != nil {
		if !strings.HasPrefix(d.Message, set.Name()+" ") {
			d.Message = set.Name() + ": " + d.Message
		}
		return set, d
	}
	if set.Cell != nil && kernel.IsBlank(v) {
		return set, settingError("%s needs a value", set.Name())
	}
	set.Value = v
	return set, nil
}

// ShowAsTyped shows the value with the digits of the text that was read, 28.50, from
// now on. It changes the sheet's model.
func (s Setting) ShowAsTyped(text string) {
	_, value, _ := strings.Cut(text, "=")
	if n, ok := s.Expr.(*syntax.Number); ok {
		s.Quantity().KeepTyped(n, strings.TrimSpace(value), s.Value)
	}
}

// ReadQuantity reads the value that was typed for a name; an error has its place
// in the text.
func ReadQuantity(name, text string) (syntax.Expr, *diag.Diagnostic) {
	expr, list := syntax.ParseQuantity(strings.TrimSpace(text))
	if !list.Errors() {
		return expr, nil
	}
	if list[0].File != nil {
		list[0].File.Name = name
	}
	return nil, &list[0]
}

// Admits reports why the given at p cannot have the value v; nil if it can.
func (s *Sheet) Admits(p whatif.Place, v float64) *diag.Diagnostic {
	return s.Model.AdmitValue(p.Quantity(), v, source.Span{})
}

// Set makes settings replace givens permanently.
func (s *Sheet) Set(settings ...Setting) {
	for _, set := range settings {
		s.Settings = append(s.Settings, set.Setting)
	}
}

// Override is a given whose value is not that of the text.
type Override struct {
	whatif.Setting
	Was float64 // in the text
}

// Overrides returns the givens that settings have changed, in the order of the
// settings. A setting to the value of the text changes nothing.
func (s *Sheet) Overrides() []Override {
	var out []Override
	for i, set := range s.Settings {
		if slices.ContainsFunc(s.Settings[i+1:], func(later whatif.Setting) bool { return later.Place == set.Place }) {
			continue
		}
		if was := s.written(set.Place); !sameGiven(set.Quantity(), was, set.Value) {
			out = append(out, Override{set, was})
		}
	}
	return out
}

// sameGiven reports whether two values of q are the same one.
func sameGiven(q *check.Quantity, a, b float64) bool {
	if q.Type.Form == check.Number && a == a && b == b {
		return kernel.Same(a, b)
	}
	return math.Float64bits(a) == math.Float64bits(b)
}

// written returns the value of the given at p in the text.
func (s *Sheet) written(p whatif.Place) float64 {
	if p.Cell != nil {
		return p.Cell.Value
	}
	return p.Column.Values[p.Row]
}

// Varies refuses a given that a question varies if a setting gives it a value.
func (s *Sheet) Varies(set Setting) *diag.Diagnostic {
	for _, have := range s.Settings {
		if have.Place == set.Place {
			return settingError("%s has the value %s by --set, and is varied as well: remove one of the two", set.Name(), s.Text(set.Quantity(), have.Value))
		}
	}
	return nil
}

// ParseGiven resolves the name on the left of a setting; it has no value yet.
func (s *Sheet) ParseGiven(name string) (Setting, *diag.Diagnostic) {
	place, row, indexed := strings.Cut(name, "[")
	cell, column := s.Model.Resolve(place)
	switch {
	case cell == nil && column == nil:
		return Setting{}, settingError("there is no cell %q in this sheet%s", place, s.suggestion(place))
	case cell != nil && indexed:
		return Setting{}, settingError("%s is a single value: write %s=…", place, place)
	case column != nil && !indexed:
		return Setting{}, settingError("%s is a column: name the row, as in %s[1]=…", place, place)
	}
	set := Setting{Setting: whatif.Setting{Place: whatif.Place{Cell: cell, Column: column}}}
	if q := set.Quantity(); !q.Given {
		return set, settingError("%s is computed (%s = %s); only a given can be set", place, q.Name, s.formula(q))
	} else if cell != nil && cell.Plugged {
		return set, settingError("%s is computed by another worksheet that this one uses; only a given can be set", place)
	}
	if !indexed {
		return set, nil
	}
	var d *diag.Diagnostic
	set.Row, d = rowOf(column, place, row, name)
	return set, d
}

// formula returns the text of a computed quantity's formula.
func (s *Sheet) formula(q *check.Quantity) string {
	decl := q.Decl()
	if decl == nil || decl.Formula == nil {
		return "…"
	}
	return syntax.String(decl.Formula)
}

// suggestion returns the help for a name that no cell has.
func (s *Sheet) suggestion(name string) string {
	for _, t := range s.Model.Tables {
		if t.Name == name && len(t.Columns) > 0 {
			return fmt.Sprintf(": it is a table; name a column, as in %s.%s", name, t.Columns[len(t.Columns)-1].Name)
		}
	}
	if near := s.Model.Nearest(name); near != "" {
		return fmt.Sprintf(": did you mean %q?", near)
	}
	return ""
}

func settingError(format string, args ...any) *diag.Diagnostic {
	return &diag.Diagnostic{Code: diag.SetRefused, Message: fmt.Sprintf(format, args...)}
}

// Changed is the effect of a change of givens on a sheet.
type Changed struct {
	Before, After *Result
	Settings      []Setting
	Reached       []int // tasks of Sheet.Graph that depend on the change, in order
}

// Change computes the sheet without and with further settings, and confirms
// both. The sheet itself does not change.
func (s *Sheet) Change(settings []Setting) (*Changed, error) {
	change := make([]whatif.Setting, len(settings))
	for i, set := range settings {
		change[i] = set.Setting
	}
	c := whatif.Apply(s.Program, s.Graph, s.Settings, change)
	before, err := (&Result{Sheet: s, machine: c.Before, used: s.Settings}).confirmed()
	if err != nil {
		return nil, err
	}
	all := append(append([]whatif.Setting{}, s.Settings...), change...)
	after, err := (&Result{Sheet: s, machine: c.After, used: all}).confirmed()
	if err != nil {
		return nil, err
	}
	return &Changed{Before: before, After: after, Settings: settings, Reached: c.Reached}, nil
}

// Fault is why a value could not be computed.
type Fault = program.Fault

// Current returns the value of the given at p: that of the last setting, or of
// the text.
func (s *Sheet) Current(p whatif.Place) float64 {
	v := s.written(p)
	for _, set := range s.Settings {
		if set.Place == p {
			v = set.Value
		}
	}
	return v
}
