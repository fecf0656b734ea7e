package check_test

import (
	"strings"
	"testing"

	"gearleaf/sheet/diag"
)

// TestPointsAreNoDifferences refuses what treats a point on a scale as if it
// were a difference, each with a word on the remedy.
func TestPointsAreNoDifferences(t *testing.T) {
	head := "air : 20 degC\nwarm : 300 K\nrise : 5 deltaC\nambient : 100 kPa\nboost : 21 psig\nratio : 1.1\n"
	for _, c := range []struct {
		line string
		code diag.Code
		help string
	}{
		{"temp : 20 degC ± 2 %", diag.ClauseForm, "deltaC"},
		{"temp : 68 degF sd 2 %", diag.ClauseForm, "deltaF"},
		{"x = ambient / boost", diag.KindQuotient, "boost + ambient"},
		{"x = boost / ambient", diag.KindQuotient, "boost + ambient"},
		{"x = air / rise", diag.KindQuotient, "plain(air)"},
		{"x = hypot(ambient, ambient)", diag.KindSum, "plain(ambient)"},
		{"x = hypot(air, 3 deltaC)", diag.KindSum, "plain(air)"},
		{"x = 300 K + 20 degC", diag.KindSum, "write 20 degC + 300 K"},
		{"x = warm + air", diag.KindSum, "write air + warm"},
		{"table t rows 3\n  x = row * 1 degC", diag.KindProduct, "1 deltaC"},
		{"x = 1 degC * ratio", diag.KindProduct, "1 deltaC"},
		{"x = 20 degF / 2", diag.KindProduct, "20 deltaF"},
	} {
		_, list := sheet(t, head+c.line+"\n")
		if len(list) != 1 || list[0].Code != c.code || !strings.Contains(list[0].Help, c.help) {
			t.Errorf("%s: %v, want %s with %q", c.line, list, c.code, c.help)
		}
	}
	for _, line := range []string{
		"x = air + warm", "x = air * ratio", "x = ratio * air", "x = air / ratio", "x = air + 5 K", "x = air + rise", "x = air / warm",
		"x = ambient / (ambient + boost)", "x = hypot(boost, boost)", "x = warm * 2", "x = 5 deltaC * ratio", "temp : 300 K ± 2 %",
		"x = 500 J / (1 kg * 1005 J/(kg.K)) + air", "x = 5 m / air", "p : 100 kPa ± 2 %", "x = boost / rise",
	} {
		if _, list := sheet(t, head+line+"\n"); list.Errors() {
			t.Errorf("%s: %s", line, list[0].Message)
		}
	}
}
