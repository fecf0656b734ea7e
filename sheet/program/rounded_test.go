package program

import (
	"go/ast"
	"go/parser"
	"go/token"
	"testing"
)

// TestProductsAreRoundedBeforeTheyAreLookedAt: where a processor has an
// operation for x·y - z, the compiler makes p - p of a product p one of these,
// unless p says that it is rounded. The difference is what rounding took then,
// hardly ever 0, and the loop leaves everything to the careful code.
func TestProductsAreRoundedBeforeTheyAreLookedAt(t *testing.T) {
	for _, name := range []string{"lanes.go", "lanes_pair.go"} {
		files := token.NewFileSet()
		f, err := parser.ParseFile(files, name, nil, 0)
		if err != nil {
			t.Fatal(err)
		}
		ast.Inspect(f, func(n ast.Node) bool {
			made, ok := n.(*ast.AssignStmt)
			if !ok {
				return true
			}
			for _, v := range made.Rhs {
				if product, ok := v.(*ast.BinaryExpr); ok && product.Op == token.MUL {
					t.Errorf("%s: a product that nothing rounds", files.Position(product.Pos()))
				}
			}
			return true
		})
	}
}
