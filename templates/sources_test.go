package templates_test

import (
	"regexp"
	"strings"
	"testing"

	"gearleaf/templates"
)

var (
	condition = regexp.MustCompile(`^(limit|advise) `)
	figure    = regexp.MustCompile(`[0-9]`)
	trivial   = regexp.MustCompile(`\b[a-z_]\w*|\b(0|1|100)( %| teeth| pass)?([^0-9.]|$)`)
	marked    = regexp.MustCompile(`common practice, no source|from memory|IUPAC|CIPM-2007|Standard Atmosphere|ideal-gas tables`)
	// forAll is the comment that says it of the figures of all conditions below.
	forAll = regexp.MustCompile(`^# A figure in a condition is common practice, no source, unless one is named beside it\.`)
	// material are units of what a handbook says of a material, not a tuner of his
	// machine.
	material = regexp.MustCompile(`[0-9] ?(k?J/\(kg\.K\)|g/mol|GPa|Pa\.s)`)
)

// TestFiguresNameTheirSource: a figure that is not the tuner's own, in a condition
// or a property of a material, names a publication, says "from memory" or says
// "common practice, no source": on its line, or in a comment above it in the same
// block. For a condition that comment is the one about all conditions, or is right
// above it.
func TestFiguresNameTheirSource(t *testing.T) {
	conditions, materials := 0, 0
	for _, template := range templates.List() {
		block, all, above := false, false, false // said by a comment: in this block, of all conditions, right above
		for i, line := range strings.Split(template.Text, "\n") {
			formula, _, _ := strings.Cut(line, `"`)
			asks := condition.MatchString(line) && figure.MatchString(trivial.ReplaceAllString(formula, ""))
			has := material.MatchString(line) && !strings.HasPrefix(line, "#")
			says := marked.MatchString(line)
			if asks && !says && !all && !above || has && !says && !block {
				t.Errorf("%s.leaf:%d: a figure without a source: %s", template.Name, i+1, line)
			}
			above = says && strings.HasPrefix(line, "#")
			block = strings.TrimSpace(line) != "" && (block || above)
			all = strings.TrimSpace(line) != "" && (all || forAll.MatchString(line))
			if asks {
				conditions++
			}
			if has {
				materials++
			}
		}
	}
	if conditions < 60 || materials < 10 {
		t.Errorf("only %d conditions and %d materials were read", conditions, materials)
	}
}
