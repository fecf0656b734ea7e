package lower_test

import (
	"os"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"gearleaf/sheet/program/lower"
)

// TestListingOfThePage compiles the sheet of SPEED.md and compares the
// listing there. GEARLEAF_UPDATE=1 rewrites it.
func TestListingOfThePage(t *testing.T) {
	const page = "../SPEED.md"
	data, err := os.ReadFile(page)
	if err != nil {
		t.Fatal(err)
	}
	text := string(data)
	got := stepListing(lowered(t, fenced(t, text, "sheet"), false), lower.ForMachine)
	want := fenced(t, text, "listing")
	if got == want {
		return
	}
	if os.Getenv("GEARLEAF_UPDATE") != "1" {
		t.Fatal(cmp.Diff(want, got))
	}
	before, after, _ := strings.Cut(text, "<!-- listing -->")
	_, after, _ = strings.Cut(after, "<!-- end listing -->")
	text = before + "<!-- listing -->\n```\n" + got + "```\n<!-- end listing -->" + after
	if err := os.WriteFile(page, []byte(text), 0o644); err != nil {
		t.Fatal(err)
	}
}

// fenced returns the text between the marks of a part, without its fences.
func fenced(t *testing.T, text, part string) string {
	t.Helper()
	_, after, ok := strings.Cut(text, "<!-- "+part+" -->\n```\n")
	inside, _, closed := strings.Cut(after, "```\n<!-- end "+part+" -->")
	if !ok || !closed {
		t.Fatalf("the page has no %s", part)
	}
	return inside
}
