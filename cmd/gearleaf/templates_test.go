package main

import (
	"bytes"
	"os"
	"path/filepath"
	"testing"

	"gearleaf/export"
	"gearleaf/sheet"
	"gearleaf/sheet/syntax"
	"gearleaf/templates"
)

// TestTemplatesAreWhole holds every template to what a ready worksheet is: it
// checks without a word, is formatted, computes without trouble on both
// evaluators, and can be written in every format, the same twice.
func TestTemplatesAreWhole(t *testing.T) {
	list := templates.List()
	if len(list) == 0 {
		t.Fatal("there are no templates")
	}
	for _, one := range list {
		t.Run(one.Name, func(t *testing.T) {
			if one.Title == "" {
				t.Error("it has no title")
			}
			s := loadTemplate(t, one)
			if len(s.Model.Cautions) == 0 {
				t.Error("it carries no caution")
			}
			if got := syntax.Print(s.Model.Files[0].Tree()); got != one.Text {
				t.Errorf("it is not laid out as gearleaf fmt does; it prints as\n%s", got)
			}
			r, err := s.Compute()
			if err != nil {
				t.Fatal(err)
			}
			if r.Trouble() {
				t.Errorf("a limit is broken or a value at fault: %v", r.Failures())
			}
			if !r.Checked.Whole() {
				t.Errorf("only %d of %d values were confirmed", r.Checked.Tasks, r.Checked.Of)
			}
			for _, format := range export.Formats() {
				checkExport(t, format, s, r)
			}
		})
	}
}

// loadTemplate loads one from a file, as a user would, and demands silence.
func loadTemplate(t *testing.T, one templates.Template) *sheet.Sheet {
	t.Helper()
	folder := t.TempDir()
	path := filepath.Join(folder, one.Name+".leaf")
	for _, f := range append(one.Beside, templates.File{Name: one.Name + ".leaf", Text: one.Text}) {
		if err := os.WriteFile(filepath.Join(folder, f.Name), []byte(f.Text), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	s, found := sheet.Load(path)
	for _, d := range found {
		at := d.File.Position(d.Span.Start)
		t.Errorf("%s.leaf:%d:%d: %s", one.Name, at.Line, at.Column, d.Message)
	}
	if s == nil {
		t.FailNow()
	}
	return s
}

func checkExport(t *testing.T, format export.Format, s *sheet.Sheet, r *sheet.Result) {
	t.Helper()
	var first, second bytes.Buffer
	for _, w := range []*bytes.Buffer{&first, &second} {
		if _, err := format.Write(w, s, r, export.Options{}); err != nil {
			t.Fatalf("%s: %v", format.Name, err)
		}
	}
	if first.Len() == 0 || !bytes.Equal(first.Bytes(), second.Bytes()) {
		t.Errorf("%s: %d bytes, then %d, and they differ", format.Name, first.Len(), second.Len())
	}
}
