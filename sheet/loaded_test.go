package sheet_test

import (
	"testing"

	"gearleaf/sheet"
)

// loaded checks a worksheet, which has to be without errors.
func loaded(t testing.TB, text string) *sheet.Sheet {
	t.Helper()
	s, list := sheet.FromText("test.leaf", text)
	if s == nil {
		t.Fatalf("%s\n%v", text, list)
	}
	return s
}
