package page_test

import (
	"bytes"
	"strings"
	"testing"

	"gearleaf/export"
	"gearleaf/sheet"
)

// TestCautionsOfABook: a book's own cautions are above the verdict, those of the
// worksheets that it uses below the results, none left out.
func TestCautionsOfABook(t *testing.T) {
	s, list := sheet.Load("../../templates/set-up-book.leaf")
	if s == nil {
		t.Fatal(list)
	}
	r, err := s.Compute()
	if err != nil {
		t.Fatal(err)
	}
	format, _ := export.ByExtension("x.html")
	var out bytes.Buffer
	if _, err := format.Write(&out, s, r, export.Options{}); err != nil {
		t.Fatal(err)
	}
	text := out.String()
	verdict, own := strings.Index(text, "id=verdict"), s.Model.Files[0].Cautions()
	if len(own) == 0 || len(own) == len(s.Model.Cautions) {
		t.Fatalf("%d of %d cautions are the book's own", len(own), len(s.Model.Cautions))
	}
	for _, c := range s.Model.Cautions {
		at := strings.Index(text, ">"+c)
		mine := false
		for _, o := range own {
			mine = mine || o == c
		}
		if at < 0 || mine != (at < verdict) {
			t.Errorf("%q is at %d, the verdict at %d", c, at, verdict)
		}
	}
}
