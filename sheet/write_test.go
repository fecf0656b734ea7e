package sheet_test

import (
	"testing"

	"gearleaf/sheet"
)

// TestRewrittenMeansTheSame writes settings into texts and checks that the
// text then computes what the setting did: a bare number counts in the unit
// that is shown, whatever unit is in the text.
func TestRewrittenMeansTheSame(t *testing.T) {
	for _, c := range []struct{ text, set, want string }{
		{"a : 5 mm as in\n", "a=7", "a : 7 in as in\n"},
		{"a : 5 mm as in\n", "a=7 mm", "a : 7 mm as in\n"},
		{"a : 5 mm as in range 1..9 ± 1\n", "a=0.3", "a : 0.3 in as in range 1 mm..9 mm ± 1 mm\n"},
		{"a : 5 mm\n", "a=7", "a : 7 mm\n"},
		{"a : 17 tooth  # why\n", "a=18", "a : 18 tooth  # why\n"},
		{"a : 0.5 as %\n", "a=70", "a : 70 % as %\n"},
		{"a : 20 degC as degF\n", "a=70", "a : 70 degF as degF\n"},
		{"table t\n  r : 1, 2 m, 3, 4 ft\n", "t.r[1]=7", "table t\n  r : 7, 2 m, 3, 4 ft\n"},
		{"table t\n  r : 1, 2 m, 3, 4 ft\n", "t.r[2]=7", "table t\n  r : 1, 7 ft, 3, 4 ft\n"},
		{"table t\n  r : 1, 2 ft as m\n", "t.r[1]=7", "table t\n  r : 7 m, 2 ft as m\n"},
		{"table t\n  r : 1, 2 ft as m\n", "t.r[2]=7", "table t\n  r : 1 ft, 7 m as m\n"},
		{"table t\n  | a mm |\n  | 3 |\n", "t.a[1]=7", "table t\n  | a mm |\n  | 7 |\n"},
		{"table t\n  | a mm |\n  | 3 |\n", "t.a[1]=1 in", "table t\n  | a mm |\n  | 25.4 |\n"},
	} {
		s, list := sheet.FromText("sheet.leaf", c.text)
		if s == nil {
			t.Fatalf("%q: %v", c.text, list)
		}
		set, d := s.ParseSetting(c.set)
		if d != nil {
			t.Fatalf("%s: %s", c.set, d.Message)
		}
		got, err := s.Rewritten([]sheet.Setting{set})
		if err != nil || got != c.want {
			t.Errorf("%s:\n%s%v\nwant\n%s", c.set, got, err, c.want)
		}
		again, list := sheet.FromText("sheet.leaf", got)
		if again == nil {
			t.Errorf("%s: %v", got, list)
			continue
		}
		if v := valueAt(t, again, set.Name()); v != set.Value {
			t.Errorf("%s: the text gives %v, the setting %v", c.set, v, set.Value)
		}
	}
}

func valueAt(t *testing.T, s *sheet.Sheet, name string) float64 {
	t.Helper()
	r, err := s.Compute()
	if err != nil {
		t.Fatal(err)
	}
	p, d := s.Place(name)
	if d != nil {
		t.Fatal(d.Message)
	}
	return r.At(p).V
}
