package unit

import (
	"testing"
	"unicode/utf8"
)

// FuzzUnit checks that any text is read or refused with sense: no panic, the
// blamed bytes inside the text, repairs that read, and of a unit that its
// symbol, its coherent symbol and its preferred unit read back.
func FuzzUnit(f *testing.F) {
	for _, c := range readings {
		f.Add(c.text)
	}
	for _, c := range refusals {
		f.Add(c.text)
	}
	for _, row := range Catalog() {
		f.Add(row.Symbol + "/" + row.Symbol + "2")
	}
	f.Fuzz(func(t *testing.T, text string) {
		s := NewSystem()
		u, err := s.Parse(text)
		if err != nil {
			refusedWithSense(t, s, text, err)
			return
		}
		if !u.sound() || u.Symbol != text {
			t.Fatalf("%q reads as %v", text, u)
		}
		if again, err := s.parse(u.Symbol); err != nil || again != u {
			t.Fatalf("%q reads as %v, then as %v, %v", text, u, again, err)
		}
		readsBack(t, s, u.Measure)
		if got := u.Clean(u.SI(2.5)); got != 2.5 {
			t.Fatalf("2.5 %s comes back as %v", text, got)
		}
	})
}

func refusedWithSense(t *testing.T, s *System, text string, err *ParseError) {
	t.Helper()
	if err.At < 0 || err.Len < 0 || err.At+err.Len > len(text) {
		t.Fatalf("%q: blames %d+%d", text, err.At, err.Len)
	}
	if utf8.ValidString(text) && !utf8.ValidString(text[err.At:err.At+err.Len]) {
		t.Fatalf("%q: blames half a character", text)
	}
	if err.Code == "" || err.Message == "" || len(s.slots) != 0 {
		t.Fatalf("%q: %+v, taken up %v", text, err, s.slots)
	}
	for _, repair := range err.Repairs {
		if _, again := s.Parse(repair); again != nil && again.Code != CodeSlots {
			t.Fatalf("%q: the repair %q is %+v", text, repair, again)
		}
	}
}
