package main

import (
	"bytes"
	"os"
	"reflect"
	"strings"
	"testing"

	"gearleaf/export"
)

// TestUsageErrors asks wrongly, and demands a place, a cause and a way out, in
// words of our own, with exit status 2.
func TestUsageErrors(t *testing.T) {
	t.Chdir(t.TempDir())
	if err := os.WriteFile("bike.leaf", []byte("a : 1 range 1..2\nb = 2 * a\n"), 0o644); err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct{ line, want string }{
		{"calc", `calc was given 0 arguments; it is used as gearleaf calc SHEET; gearleaf calc --help shows examples`},
		{"passes add book.csv", `passes add was given 1 argument; it is used as gearleaf passes add BOOK.csv SHEET [NAME=VALUE…]; gearleaf passes add --help shows examples`},
		{"calk bike.leaf", `there is no command "calk": did you mean "calc"?`},
		{"season", `there is no command "season"; gearleaf new season writes the worksheet of that name`},
		{"bike.leaf", `there is no command "bike.leaf"; gearleaf calc bike.leaf computes the worksheet`},
		{"hlep", `there is no command "hlep": did you mean "help"?`},
		{"help thermometer", `there is no command "thermometer"; gearleaf --help lists them`},
		{"help passes lst", `there is no command "passes lst": did you mean "list"?`},
		{"help calc lst", `calc has no command "lst" below it; gearleaf calc --help shows examples`},
		{"passes lst", `there is no command "passes lst": did you mean "list"?`},
		{"completion csh", `there is no command "completion csh": did you mean "zsh"?`},
		{"man nope", `there is no command "nope"; gearleaf --help lists them`},
		{"man passes lst", `there is no command "passes lst": did you mean "list"?`},
		{"thermometer", `there is no command "thermometer"; gearleaf --help lists them`},
		{"sweep bike.leaf a", `sweep needs --show cells (the cells to show, separated by commas); gearleaf sweep --help shows examples`},
		{"best bike.leaf --by a", `best needs one of --max, --min, --near; gearleaf best --help shows examples`},
		{"calc bike.leaf --json --charts", `--charts and --json cannot be combined: use one of them`},
		{"calc bike.leaf --sett a", `there is no flag --sett: did you mean "--set"?`},
		{"calc bike.leaf --thermometer", `there is no flag --thermometer; gearleaf calc --help shows examples`},
		{"calc bike.leaf -z", `there is no flag -z; gearleaf calc --help shows examples`},
		{"calc bike.leaf --set", `--set needs a value: --set name=quantity (compute with name=quantity, in this run only)`},
		{"spread bike.leaf --show b --draws many", `--draws takes a whole number, not "many"`},
		{"spread bike.leaf --show b --coverage=most", `--coverage takes a number, not "most"`},
		{"sweep bike.leaf a --show b --random 0", `--random takes a number above 0; without it every combination is computed`},
		{"passes list no.csv", `no.csv cannot be read or written: no such file or directory; check its name and who may use it`},
		{"serve bike.leaf --addr nowhere", `the address nowhere is not host:port: write it as in 127.0.0.1:8460`},
		{"serve bike.leaf --addr 127.0.0.1:999999", `the address 127.0.0.1:999999 cannot be used: address 999999: invalid port; 127.0.0.1:0 selects any free port of this machine`},
	} {
		var out, errs bytes.Buffer
		status := run(strings.Fields(c.line), strings.NewReader(""), &out, &errs)
		if got := errs.String(); status != 2 || got != "gearleaf: "+c.want+"\n" || out.Len() > 0 {
			t.Errorf("gearleaf %s: status %d, %q\n%swant %q", c.line, status, out.String(), got, c.want)
		}
	}
}

// TestHolesAreGrouped puts the causes of one column together, in whatever row
// they begin.
func TestHolesAreGrouped(t *testing.T) {
	got := groupHoles([]export.HoleCount{
		{Cause: "t.y[3]: division by zero", Count: 9},
		{Cause: "q: 12.5 rpm is below 20 rpm", Count: 4},
		{Cause: "t.y[17]: division by zero", Count: 2},
		{Cause: "q: 1 rpm is below 20 rpm", Count: 1},
		{Cause: "q: division by zero", Count: 1},
	})
	want := []holeGroup{
		{export.HoleCount{Cause: "t.y[3]: division by zero", Count: 11}, 1},
		{export.HoleCount{Cause: "q: 12.5 rpm is below 20 rpm", Count: 5}, 1},
		{export.HoleCount{Cause: "q: division by zero", Count: 1}, 0},
	}
	if !reflect.DeepEqual(got, want) {
		t.Errorf("%v, want %v", got, want)
	}
}
