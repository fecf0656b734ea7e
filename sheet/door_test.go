package sheet_test

import (
	"go/ast"
	"go/parser"
	"go/token"
	"os"
	"strings"
	"testing"
)

// mostTypes is how many exported types the front door may have.
const mostTypes = 30

// TestDoorIsNarrow counts the exported types: what only some callers need is a
// package of its own.
func TestDoorIsNarrow(t *testing.T) {
	entries, err := os.ReadDir(".")
	if err != nil {
		t.Fatal(err)
	}
	n := 0
	for _, e := range entries {
		if !strings.HasSuffix(e.Name(), ".go") || strings.HasSuffix(e.Name(), "_test.go") {
			continue
		}
		tree, err := parser.ParseFile(token.NewFileSet(), e.Name(), nil, 0)
		if err != nil {
			t.Fatal(err)
		}
		for _, d := range tree.Decls {
			g, ok := d.(*ast.GenDecl)
			if !ok || g.Tok != token.TYPE {
				continue
			}
			for _, spec := range g.Specs {
				if ast.IsExported(spec.(*ast.TypeSpec).Name.Name) {
					n++
				}
			}
		}
	}
	if n > mostTypes {
		t.Errorf("package sheet exports %d types; %d are the most", n, mostTypes)
	}
}
