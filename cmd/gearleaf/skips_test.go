package main

import (
	"go/ast"
	"go/parser"
	"go/token"
	"path/filepath"
	"strings"
	"testing"
)

// skips are those that outside.Missing does not serve: what is skipped is no lack
// of this machine, and runs elsewhere.
var skips = map[string]string{
	"TestMemoryOfCSV":       "a system that does not tell a peak, or the race detector, which adds its own",
	"TestKills":             "Windows; its rules are tested by the writer's own faults",
	"TestSmallDisk":         "the process in the name space; the one outside fails for it",
	"TestPageIsFast":        "CI measures it alone",
	"BenchmarkLibrary":      "no test",
	"FuzzPrint":             "an input that is refused",
	"FuzzComparisonsAgree":  "an input out of bounds",
	"TestFormatReadsBack":   "an input out of bounds",
	"TestCompoundsMultiply": "an input out of bounds",
	"TestMulDiv":            "an input out of bounds",
	"drawExponent":          "an input out of bounds",
}

// TestSkipsAreSeen refuses a test that is skipped where everything outside is
// required: a skip is outside.Missing's, for the short tests, or listed.
func TestSkipsAreSeen(t *testing.T) {
	used := map[string]bool{}
	for _, file := range goFiles(t) {
		if !strings.HasSuffix(file, "_test.go") {
			continue
		}
		set := token.NewFileSet()
		tree, err := parser.ParseFile(set, filepath.Join(root, file), nil, parser.SkipObjectResolution)
		if err != nil {
			t.Fatal(err)
		}
		for _, d := range tree.Decls {
			f, ok := d.(*ast.FuncDecl)
			if !ok {
				continue
			}
			for _, call := range skipsIn(f) {
				if used[f.Name.Name] = true; skips[f.Name.Name] == "" {
					t.Errorf("%v: %s is skipped, and nobody sees it: use outside.Missing, or list it", set.Position(call.Pos()), f.Name.Name)
				}
			}
		}
	}
	for name := range skips {
		if !used[name] {
			t.Errorf("%s skips nothing and is listed", name)
		}
	}
}

// skipsIn returns the calls by which a function is skipped for another reason than
// that the tests are short.
func skipsIn(f *ast.FuncDecl) []*ast.CallExpr {
	var out []*ast.CallExpr
	ast.Inspect(f, func(n ast.Node) bool {
		switch n := n.(type) {
		case *ast.IfStmt:
			return !asks(n.Cond, "Short")
		case *ast.CallExpr:
			if asks(n.Fun, "Skip") || asks(n.Fun, "Skipf") || asks(n.Fun, "SkipNow") {
				out = append(out, n)
			}
		}
		return true
	})
	return out
}

// asks reports whether an expression has a selection of name.
func asks(x ast.Expr, name string) bool {
	found := false
	ast.Inspect(x, func(n ast.Node) bool {
		s, ok := n.(*ast.SelectorExpr)
		found = found || ok && s.Sel.Name == name
		return !found
	})
	return found
}
