package main

import (
	"testing"

	"gearleaf/sheet"
	"gearleaf/sheet/diag"
)

// TestCodesAreShown proves every row of the list of diagnostics: its example
// yields exactly its code. Rows without an example need files and are proven
// by scripts.
func TestCodesAreShown(t *testing.T) {
	seen := map[diag.Code]bool{}
	examples := 0
	for _, row := range diag.Codes() {
		if seen[row.Code] {
			t.Errorf("%s stands in the list twice", row.Code)
		}
		seen[row.Code] = true
		if row.Summary == "" {
			t.Errorf("%s has no summary", row.Code)
		}
		if row.Example == "" {
			continue
		}
		examples++
		t.Run(string(row.Code), func(t *testing.T) {
			_, list := sheet.FromText("example", row.Example)
			if len(list) != 1 || list[0].Code != row.Code {
				t.Errorf("the example\n%s\nyields", row.Example)
				for _, d := range list {
					t.Errorf("\t%s: %s", d.Code, d.Message)
				}
			}
		})
	}
	if examples < 20 {
		t.Errorf("only %d codes have an example", examples)
	}
}
