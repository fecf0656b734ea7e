package sheet_test

import (
	"strings"
	"testing"
)

// TestOverrides: a given is overridden if its value is another than that of the
// text, whatever the unit that it is typed in; the last setting of a given counts.
func TestOverrides(t *testing.T) {
	const text = "a : 2 mm\nfuel : \"alcohol\" choice \"alcohol\", \"gasoline\"\nwet : no\ntable log\n  | speed mph |\n  | 1 |\n  | |\n  | 3 |\n"
	for _, c := range []struct {
		settings, want string
	}{
		{"a=2", ""},
		{"a=0.2cm", ""},
		{"a=3", "a"},
		{"a=3;a=2", ""},
		{"a=2;a=3", "a"},
		{`fuel="alcohol"`, ""},
		{`wet=yes;fuel="gasoline"`, "wet fuel"},
		{"log.speed[1]=1;log.speed[2]=2;log.speed[3]=4", "log.speed[2] log.speed[3]"},
	} {
		s := loaded(t, text)
		for one := range strings.SplitSeq(c.settings, ";") {
			set, d := s.ParseSetting(one)
			if d != nil {
				t.Fatal(d.Message)
			}
			s.Set(set)
		}
		var names []string
		for _, o := range s.Overrides() {
			names = append(names, o.Name())
		}
		if got := strings.Join(names, " "); got != c.want {
			t.Errorf("%s overrides %q, want %q", c.settings, got, c.want)
		}
	}
}
