package export

import (
	"bytes"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"gearleaf/sheet"
	"gearleaf/sheet/check"
	"gearleaf/sheet/syntax"
	"gearleaf/templates"
)

// TestManualPictures keeps the pictures of the manual true: one drawing of
// all charts for every template that has any, shown on its page.
// GEARLEAF_UPDATE=1 draws them again.
func TestManualPictures(t *testing.T) {
	manual := filepath.Join("..", "templates", "manual")
	for _, template := range templates.List() {
		t.Run(template.Name, func(t *testing.T) {
			s, list := sheet.Load(filepath.Join("..", "templates", template.Name+".leaf"))
			if s == nil {
				t.Fatal(list)
			}
			page, err := os.ReadFile(filepath.Join(manual, template.Name+".md"))
			if !drawsCharts(s) || template.Name == "between-rounds" || err != nil {
				return // nothing to draw, a page whose sheets have theirs, or a day's file without a page
			}
			r, err := s.Compute()
			if err != nil {
				t.Fatal(err)
			}
			var drawn bytes.Buffer
			if _, err := writeSVG(&drawn, s, r, Options{}); err != nil {
				t.Fatal(err)
			}
			name := template.Name + ".svg"
			path := filepath.Join(manual, name)
			if os.Getenv("GEARLEAF_UPDATE") != "" {
				if err := os.WriteFile(path, drawn.Bytes(), 0o644); err != nil {
					t.Fatal(err)
				}
			}
			kept, err := os.ReadFile(path)
			if err != nil || !bytes.Equal(kept, drawn.Bytes()) {
				t.Errorf("%s is not what the template draws now (%v); GEARLEAF_UPDATE=1 draws it anew", name, err)
			}
			if !strings.Contains(string(page), "("+name+")") {
				t.Errorf("%s.md does not show %s", template.Name, name)
			}
		})
	}
}

// drawsCharts reports whether a chart is in the sheet itself or in one that
// it uses: what those use in turn is drawn on their pages.
func drawsCharts(s *sheet.Sheet) bool {
	near := map[string]bool{filepath.Base(s.Model.Files[0].File.Name): true}
	for _, stmt := range s.Model.Files[0].Tree().Stmts {
		if u, ok := stmt.(*syntax.Use); ok {
			near[filepath.Base(u.Path.Text)] = true
		}
	}
	return slices.ContainsFunc(s.Model.Charts, func(c *check.Chart) bool {
		return near[filepath.Base(s.Model.Files[c.Origin.File].File.Name)]
	})
}
