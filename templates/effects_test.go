package templates_test

import (
	"os"
	"regexp"
	"strconv"
	"strings"
	"testing"
)

// effects are the settings of each row of the manual's table of what effects
// are worth, a list for each number of it.
var effects = map[string][][]string{
	"`front_inertia`, `rear_inertia` to 0":           {{"front_inertia=0", "rear_inertia=0"}},
	"`engine_inertia`, `shaft_inertia` to the least": {{"engine_inertia=0.002", "shaft_inertia=0"}},
	"`rolling_share` to 0; `rolling_force` to 0":     {{"rolling_share=0"}, {"rolling_force=0"}},
	"`lift_area` 0.02 m2 to 0; to 0.08 m2":           {{"lift_area=0"}, {"lift_area=0.08"}},
	"`drag_height` 600 mm to 0":                      {{"drag_height=0"}},
	"`rider_back` 10 mm":                             {{"rider_back=10"}},
	"`grade` 0.5 %":                                  {{"grade=0.5"}},
	"`wheelie_bar`":                                  {{"wheelie_bar=yes"}},
	"`shift_cut` 30 ms to 0":                         {{"shift_cut=0"}},
	"`head_wind` 10 mph":                             {{"head_wind=10"}},
	"`tyre_growth` to 0":                             {{"tyre_growth=0"}},
}

// effectRow is a row of that table.
var effectRow = regexp.MustCompile(`(?m)^\| (.+) \| .*\| ([−+0-9; ]+) \|$`)

// TestManualSaysWhatEffectsAreWorth compares every number of the manual's table
// with the sheet: milliseconds of the elapsed time.
func TestManualSaysWhatEffectsAreWorth(t *testing.T) {
	page, err := os.ReadFile("manual/quarter-mile.md")
	if err != nil {
		t.Fatal(err)
	}
	_, text, _ := strings.Cut(string(page), "**What each effect is worth**")
	text, _, _ = strings.Cut(text, "\n**")
	text, _, _ = strings.Cut(text, "\nWith the limits")
	rows := effectRow.FindAllStringSubmatch(text, -1)
	if len(rows) != len(effects) {
		t.Errorf("the table has %d rows, %d are known here", len(rows), len(effects))
	}
	usual := value(t, template(t, "quarter-mile"), "elapsed_time")
	for _, row := range rows {
		numbers := strings.Split(row[2], ";")
		if len(numbers) != len(effects[row[1]]) {
			t.Errorf("%s: %d numbers, %d settings", row[1], len(numbers), len(effects[row[1]]))
			continue
		}
		for i, n := range numbers {
			want, err := strconv.ParseFloat(strings.Replace(strings.TrimSpace(n), "−", "-", 1), 64)
			if err != nil {
				t.Fatal(err)
			}
			got := value(t, template(t, "quarter-mile", effects[row[1]][i]...), "elapsed_time") - usual
			within(t, row[1]+", ms", got*1000, want, 0.6)
		}
	}
}
