package sheet

import (
	"errors"
	"path"
	"sort"
	"strings"

	"gearleaf/sheet/kernel"
	"gearleaf/sheet/source"
	"gearleaf/sheet/syntax"
)

// Function describes one function of the library.
type Function struct {
	Name    string
	Subject string // the library's file without its ending; "numbers", "columns" for intrinsics
	Usage   string // "road_speed(engine_speed: rpm, overall_ratio: 1, rollout: mm) as km/h"
	Meaning string
	Sources []string
	Valid   []string // "temperature >= -20 degC: outside the range of the formula"
	Steps   []string // "name = formula", the last one "= formula"; empty for an intrinsic
	Why     string   // of an intrinsic: why no formula can express it
	Example []string // worked examples, as calls
	Note    string   // its author's remarks, lines joined
}

// Figure is a constant or a table of the library, as written there.
type Figure struct {
	Name    string
	Subject string
	Note    string // its author's remarks, lines unchanged
	Text    string
}

// Figures returns the constants and tables of the library, in the order of its
// files.
func Figures() []Figure {
	var out []Figure
	for _, tree := range Library().Files {
		for _, s := range tree.Stmts {
			f := Figure{Subject: subject(tree), Note: s.Base().Note(), Text: statementText(tree.File, s.Base())}
			switch s := s.(type) {
			case *syntax.Cell:
				f.Name = s.Name.Text
			case *syntax.Table:
				f.Name = s.Name.Text
				f.Text = tree.File.Slice(source.Span{Start: s.Span.Start, End: tableEnd(s)})
			default:
				continue
			}
			out = append(out, f)
		}
	}
	return out
}

// tableEnd returns the end of the lines of a library table.
func tableEnd(t *syntax.Table) int32 {
	end := t.Span.End
	if t.Grid != nil {
		end = max(end, t.Grid.Span.End)
	}
	for _, c := range t.Columns {
		end = max(end, c.Span.End)
	}
	return end
}

// statementText returns a statement as written, with the comment after
// it.
func statementText(file *source.File, l *syntax.Lead) string {
	span := l.Span
	if l.Trailing != nil {
		span.End = l.Trailing.Span.End
	}
	return file.Slice(span)
}

// Functions returns the library's functions by subject, and within a subject in
// the order of its file; the intrinsics come last.
func Functions() []Function {
	var out []Function
	for _, tree := range Library().Files {
		for _, s := range tree.Stmts {
			if f, ok := s.(*syntax.Function); ok {
				out = append(out, function(f, subject(tree)))
			}
		}
	}
	intrinsics := append([]kernel.Intrinsic(nil), Library().Intrinsics...)
	sort.SliceStable(intrinsics, func(i, j int) bool {
		return intrinsicSubject(intrinsics[i]) > intrinsicSubject(intrinsics[j])
	})
	for _, in := range intrinsics {
		out = append(out, Function{
			Name: in.Name, Subject: intrinsicSubject(in), Usage: in.Usage, Meaning: in.Meaning, Why: in.Why,
			Example: []string{in.Example},
		})
	}
	return out
}

func subject(tree *syntax.Worksheet) string {
	return strings.TrimSuffix(path.Base(tree.File.Name), ".leaf")
}

func intrinsicSubject(in kernel.Intrinsic) string {
	if in.Aggregate != kernel.NoAggregate || in.Lookup != kernel.NoLookup {
		return "columns"
	}
	return "numbers"
}

// function describes f of the library.
func function(f *syntax.Function, subject string) Function {
	out := Function{Name: f.Name.Text, Subject: subject, Usage: usage(f), Note: strings.ReplaceAll(f.Note(), "\n", " ")}
	if f.Meaning != nil {
		out.Meaning = f.Meaning.Text
	}
	for _, s := range f.Sources {
		out.Sources = append(out.Sources, s.Text)
	}
	for _, v := range f.Valid {
		line := syntax.String(v.Cond)
		if v.Message != nil {
			line += ": " + v.Message.Text
		}
		out.Valid = append(out.Valid, line)
	}
	for _, s := range f.Steps {
		out.Steps = append(out.Steps, s.Name.Text+" = "+syntax.String(s.Formula))
	}
	out.Steps = append(out.Steps, "= "+syntax.String(f.Body))
	for _, e := range f.Example {
		out.Example = append(out.Example, syntax.String(e))
	}
	return out
}

func usage(f *syntax.Function) string {
	params := make([]string, len(f.Params))
	for i, p := range f.Params {
		params[i] = p.Name.Text
		if p.Unit != nil {
			params[i] += ": " + p.Unit.Text
		}
	}
	text := f.Name.Text + "(" + strings.Join(params, ", ") + ")"
	if f.Result != nil {
		text += " as " + f.Result.Text
	}
	return text
}

// functions returns the functions among names that are written in the worksheet
// language, each once: the sheet's own, else the library's.
func (s *Sheet) functions(names []string) []Function {
	var out []Function
	seen := map[string]bool{}
	for _, name := range names {
		if seen[name] {
			continue
		}
		seen[name] = true
		if f, from := s.declared(name); f != nil {
			out = append(out, function(f, from))
		}
	}
	return out
}

// Function returns the description of the function called name: the sheet's
// own, or one of the library that is written in the worksheet language.
func (s *Sheet) Function(name string) (Function, bool) {
	f, from := s.declared(name)
	if f == nil {
		return Function{}, false
	}
	return function(f, from), true
}

// declared returns the function called name and the subject of its file.
func (s *Sheet) declared(name string) (*syntax.Function, string) {
	for _, file := range s.Model.Files {
		if f := functionIn(file.Tree(), name); f != nil {
			return f, subject(file.Tree())
		}
	}
	for _, tree := range Library().Files {
		if f := functionIn(tree, name); f != nil {
			return f, subject(tree)
		}
	}
	return nil, ""
}

// functionIn returns the function of that name in a file, nil for none.
func functionIn(tree *syntax.Worksheet, name string) *syntax.Function {
	for _, st := range tree.Stmts {
		if f, ok := st.(*syntax.Function); ok && f.Name.Text == name {
			return f
		}
	}
	return nil
}

// Worked computes an example of a function, a formula that may follow lines of
// a worksheet, and returns the result as shown.
func Worked(example string) (string, error) {
	at := strings.LastIndexByte(example, '\n') + 1
	s, list := FromText("example", example[:at]+"result = "+example[at:]+"\n")
	if s == nil {
		return "", errors.New(list[0].Message)
	}
	r, err := s.Compute()
	if err != nil {
		return "", err
	}
	cell, _ := s.Model.Resolve("result")
	v := r.Cell(cell)
	if f := v.Fault(); f != nil {
		return "", errors.New(f.Cause)
	}
	return s.Text(&cell.Quantity, v.V), nil
}
