package export

import (
	"bytes"
	"os"
	"strings"
	"testing"

	"gearleaf/sheet"
)

// TestJSONPage checks JSON.md: its sheet gives its JSON, byte for byte, and its
// table has every name of the structure.
func TestJSONPage(t *testing.T) {
	data, err := os.ReadFile("JSON.md")
	if err != nil {
		t.Fatal(err)
	}
	page := string(data)
	text, want := fenced(t, page, "leaf"), fenced(t, page, "json")
	s, list := sheet.FromText("page.leaf", text)
	if s == nil {
		t.Fatal(list)
	}
	r, err := s.Compute()
	if err != nil {
		t.Fatal(err)
	}
	var got bytes.Buffer
	if _, err := writeJSON(&got, s, r, Options{}); err != nil {
		t.Fatal(err)
	}
	if got.String() != want {
		t.Errorf("the page's sheet gives other JSON:\n%s", got.String())
	}
	for _, line := range strings.Split(want, "\n") {
		name, _, ok := strings.Cut(strings.TrimSpace(line), ":")
		if name = strings.Trim(name, `"`); ok && name != "2" && !strings.Contains(page, "`"+name+"`") && !strings.Contains(page, "[]."+name+"`") {
			t.Errorf("the page does not say what %s is", name)
		}
	}
}

// fenced returns the first block of the page in a language.
func fenced(t *testing.T, page, language string) string {
	t.Helper()
	_, rest, found := strings.Cut(page, "```"+language+"\n")
	block, _, closed := strings.Cut(rest, "```\n")
	if !found || !closed {
		t.Fatalf("the page has no block of %s", language)
	}
	return block
}
