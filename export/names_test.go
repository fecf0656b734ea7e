package export

import (
	"strings"
	"testing"
)

func TestDefinedNames(t *testing.T) {
	long := strings.Repeat("n", 300)
	for _, c := range []struct{ name, want string }{
		{"tyre_rollout", "tyre_rollout"},
		{"afr1", "afr1_"},
		{"xfd1", "xfd1_"},
		{"xfd1048576", "xfd1048576_"},
		{"xfe1", "xfe1"},             // no column XFE
		{"xfd1048577", "xfd1048577"}, // no such row
		{"a0", "a0_"},
		{"r", "r_"},
		{"c", "c_"},
		{"rc", "rc_"},
		{"r1c1", "r1c1_"},
		{"r12", "r12_"},
		{"c7", "c7_"},
		{"rpm", "rpm"},
		{"true", "true_"},
		{"false", "false_"},
		{"log10", "log10_"},
		{"1st", "_1st"},
		{"größe", "gr__e"},
		{"print_area", "print_area_2"},
		{long, strings.Repeat("n", maxNameBytes-8)},
	} {
		got := newNameSet("print_area").defined(c.name)
		if got != c.want {
			t.Errorf("%s: got %s, want %s", c.name, got, c.want)
		}
		if len(got) > maxNameBytes || clashes(got) {
			t.Errorf("%s: %s is no defined name", c.name, got)
		}
	}
}

func TestNamesDifferInAnyCase(t *testing.T) {
	s := newNameSet()
	seen := map[string]bool{}
	for _, name := range []string{"R", "r_", "Speed", "speed", "SPEED", "speed_2", "afr1", "AFR1_"} {
		got := strings.ToLower(s.defined(name))
		if seen[got] {
			t.Errorf("%s was given twice", got)
		}
		seen[got] = true
	}
}

func TestSheetNames(t *testing.T) {
	s := newNameSet("history")
	for _, c := range []struct{ name, want string }{
		{"gears", "gears"},
		{"Gears", "Gears 2"},
		{"history", "history 2"},
		{"a/b", "a_b"},
		{strings.Repeat("x", 40), strings.Repeat("x", 31)},
		{strings.Repeat("X", 40), strings.Repeat("X", 29) + " 2"},
	} {
		if got := s.sheet(c.name); got != c.want {
			t.Errorf("%s: got %s, want %s", c.name, got, c.want)
		}
	}
	for name, want := range map[string]string{"gears": "gears", "run 2": "'run 2'", "t1": "'t1'", "r": "'r'", "it's": "'it''s'"} {
		if got := quoteSheet(name); got != want {
			t.Errorf("%s: got %s, want %s", name, got, want)
		}
	}
}
