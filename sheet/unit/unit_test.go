package unit

import "testing"

func TestParse(t *testing.T) {
	s := NewSystem()
	for _, text := range []string{"kg/m3", "lb/(hp.h)", "ft.lbf", "mm/rev", "cc/min", "1", "%", "psig", "degF", "EUR/pass", "m(1/2)", "1/s", "bar/s"} {
		u, err := s.Parse(text)
		if err != nil {
			t.Errorf("%s: %s", text, err.Message)
			continue
		}
		t.Log(text, u.Scale, s.Describe(u.Measure), s.Preferred(u.Measure).Symbol)
	}
	for _, text := range []string{"psi", "m99999999999", "lb/hp.h", "J/(kg.degC)", "foo", "", "/", "m/"} {
		if _, err := s.Parse(text); err == nil {
			t.Errorf("%q is read", text)
		} else {
			t.Logf("%s %s: %s (%s) %v", text, err.Code, err.Message, err.Help, err.Repairs)
		}
	}
}
