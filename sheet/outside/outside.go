// Package outside is for tests that need something the project does not bring: a
// program, a device, a kind of file.
package outside

import (
	"os"
	"testing"
)

// Required reports whether everything outside is required, as in CI.
func Required() bool { return os.Getenv("GEARLEAF_REQUIRE") == "all" }

// Missing skips a test for what is missing here; where everything is required, it
// fails.
func Missing(t testing.TB, what string) {
	t.Helper()
	if Required() {
		t.Fatal(what)
	}
	t.Skip(what)
}
