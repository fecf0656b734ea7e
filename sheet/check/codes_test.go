package check_test

import (
	"strings"
	"testing"

	"gearleaf/sheet/check"
	"gearleaf/sheet/diag"
	"gearleaf/sheet/source"
	"gearleaf/sheet/syntax"
)

// TestExamples checks that the example of each code yields that code and no
// other. Codes of other stages have their own tests.
func TestExamples(t *testing.T) {
	lib := library()
	tried := 0
	for _, row := range diag.Codes() {
		tree, list := syntax.Parse(source.New("example.leaf", row.Example))
		if row.Example == "" || list.Errors() || strings.HasPrefix(string(row.Code), "graph-") {
			continue
		}
		_, found := check.Check(check.Input{Files: []check.File{{Tree: tree}}, Library: lib})
		list = append(list, found...)
		tried++
		for _, d := range list {
			if d.Code != row.Code {
				t.Errorf("%s: its example yields %s: %s", row.Code, d.Code, d.Message)
			}
		}
		if len(list) == 0 {
			t.Errorf("%s: its example yields nothing", row.Code)
		}
	}
	if tried < 40 {
		t.Errorf("only %d examples tried", tried)
	}
}
