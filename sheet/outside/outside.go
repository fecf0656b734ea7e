// Package outside is for tests that need something outside the project: a
// program, a device, a kind of file.
package outside

import (
	"os"
	"testing"
)

// Required reports whether everything outside the project is required, as in CI.
func Required() bool { return os.Getenv("GEARLEAF_REQUIRE") == "all" }

// Missing skips a test because something is missing; if everything is required,
// the test fails.
func Missing(t testing.TB, what string) {
	t.Helper()
	if Required() {
		t.Fatal(what)
	}
	t.Skip(what)
}
