package main

import (
	"bytes"
	"fmt"
	"os"
	"os/exec"
	"strings"
	"testing"

	"gearleaf/sheet/outside"
)

// arrayJobs is how many jobs of a job array are run, and arrayScenarios what
// is left of its scenarios.
const (
	arrayJobs      = 3
	arrayScenarios = 2000
)

// runShell runs a block of the manual in a shell; one for a cluster once for
// every job of a small array, whose parts have to be the whole.
func runShell(t *testing.T, b block) {
	t.Helper()
	for _, tool := range []string{"sh", "parallel"} {
		if _, err := exec.LookPath(tool); err != nil && (tool == "sh" || strings.Contains(b.text, tool)) {
			outside.Missing(t, tool+" is not installed")
		}
	}
	if b.kind == "sh" {
		shell(t, b.text)
		return
	}
	var parts []byte
	for i := 1; i <= arrayJobs; i++ {
		shell(t, b.text, fmt.Sprintf("SLURM_ARRAY_TASK_ID=%d", i), fmt.Sprintf("SLURM_ARRAY_TASK_COUNT=%d", arrayJobs))
		part, err := os.ReadFile(fmt.Sprintf("part-%03d.csv", i))
		if err != nil {
			t.Fatal(err)
		}
		parts = append(parts, part...)
	}
	shell(t, b.text, "SLURM_ARRAY_TASK_ID=1", "SLURM_ARRAY_TASK_COUNT=1")
	whole, err := os.ReadFile("part-001.csv")
	if err != nil {
		t.Fatal(err)
	}
	if n := bytes.Count(whole, []byte("\n")); !bytes.Equal(parts, whole) || n != arrayScenarios+1 {
		t.Errorf("the parts of the jobs are not the whole, %d lines", n)
	}
}

// shell runs text, stopping at the first command that fails.
func shell(t *testing.T, text string, env ...string) {
	t.Helper()
	cmd := exec.Command("sh", "-e", "-c", text)
	cmd.Env = append(os.Environ(), append(env, fmt.Sprintf("SCENARIOS=%d", arrayScenarios), "PARALLEL=--will-cite")...)
	if out, err := cmd.CombinedOutput(); err != nil {
		t.Errorf("%v:\n%s\n%s", err, text, out)
	}
}
