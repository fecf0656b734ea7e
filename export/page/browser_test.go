package page_test

import (
	"bytes"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"testing"

	"gearleaf/export"
	"gearleaf/sheet"
	"gearleaf/sheet/outside"
)

// browser runs a check of testdata/browser.cjs on files.
func browser(t *testing.T, check string, files ...string) {
	t.Helper()
	if testing.Short() && !outside.Required() {
		t.Skip("a browser takes a while")
	}
	node, chromium := need(t, "node"), need(t, "chromium")
	if out, err := exec.Command(node, "-e", `require("puppeteer-core"); require("axe-core")`).CombinedOutput(); err != nil {
		outside.Missing(t, "puppeteer-core and axe-core (npm; NODE_PATH says where) are not installed: "+string(bytes.SplitN(out, []byte("\n"), 2)[0]))
	}
	cmd := exec.Command(node, append([]string{"testdata/browser.cjs", check}, files...)...)
	cmd.Env = append(os.Environ(), "CHROMIUM="+chromium)
	out, err := cmd.CombinedOutput()
	if err != nil {
		t.Errorf("%s: %v\n%s", check, err, out)
	} else if len(out) > 0 {
		t.Log(string(out))
	}
}

// pageFile writes the worksheet of a text as a page.
func pageFile(t *testing.T, name, text string) string {
	t.Helper()
	s, list := sheet.FromText(name+".leaf", text)
	if s == nil {
		t.Fatal(list)
	}
	return exported(t, name, s)
}

func exported(t *testing.T, name string, s *sheet.Sheet) string {
	t.Helper()
	r, err := s.Compute()
	if err != nil {
		t.Fatal(err)
	}
	format, _ := export.ByExtension("x.html")
	var out bytes.Buffer
	if _, err := format.Write(&out, s, r, export.Options{}); err != nil {
		t.Fatal(err)
	}
	path := filepath.Join(t.TempDir(), name+".html")
	if err := os.WriteFile(path, out.Bytes(), 0o600); err != nil {
		t.Fatal(err)
	}
	return path
}

// templatePages writes every ready worksheet as a page.
func templatePages(t *testing.T) []string {
	t.Helper()
	var out []string
	for _, path := range templates(t) {
		s, list := sheet.Load(path)
		if s == nil {
			t.Fatal(list)
		}
		out = append(out, exported(t, strings.TrimSuffix(filepath.Base(path), ".leaf"), s))
	}
	return out
}

// bike is a small sheet of the demonstration kind; its figures are invented.
const bike = `title   "Test mule, eighth mile"
caution "Invented figures. The rule book, the tyre's rating and the maker's limits come first."

section "Final drive"

front_sprocket : 17 teeth   range 15..19               "Countershaft sprocket"
rear_sprocket  : 41 teeth   choice 38, 40, 41, 42, 44  "Rear sprocket, in the van"
primary_ratio  : 1.55
tyre_rollout   : 2085 mm ± 6 mm                        "Rear tyre, one turn, loaded"
shift_speed    : 11200 rpm  range 9000..11800

final_ratio = rear_sprocket / front_sprocket  to 0.001

section "Speed in each gear"

table gears
  gear    : 1, 2, 3, 4, 5, 6
  ratio   : 2.50, 1.90, 1.55, 1.30, 1.15, 1.05
  overall = primary_ratio * ratio * final_ratio             to 0.001
  speed   = road_speed(shift_speed, overall, tyre_rollout)  as mph to 0.1  "Speed at the shift"
  drop_to = shift_speed * next(ratio) / ratio               as rpm to 10   "After the shift"

top_speed = last(gears.speed)  as mph to 0.1

limit  top_speed <= 235 mph      "The tyre is not rated for this speed"
advise 10500 rpm <= shift_speed  "Below the power peak"

chart "Speed in each gear"  x gears.gear  y gears.speed
`

func TestPageInUse(t *testing.T)           { browser(t, "use", pageFile(t, "bike", bike)) }
func TestPageWithoutScripts(t *testing.T)  { browser(t, "still", templatePages(t)[:4]...) }
func TestPagePrintsOnOneSide(t *testing.T) { browser(t, "print", pageFile(t, "bike", bike)) }

// TestPageLooks holds pages to their sizes and to axe-core: one ready worksheet,
// in a campaign every fourth, in a long one all.
func TestPageLooks(t *testing.T) {
	paths := []string{pageFile(t, "bike", bike)}
	for i, path := range templatePages(t) {
		if n := campaign(); i == 0 || n > 0 && i%4 == 0 || n >= longCampaign {
			paths = append(paths, path)
		}
	}
	browser(t, "looks", paths...)
}

// longCampaign is how many generated sheets a campaign of the night has.
const longCampaign = 200

// TestPageIsFast measures the three largest pages on a processor slowed down
// four times. A busy machine distorts the times, so GEARLEAF_SLACK multiplies
// the bounds, and without GEARLEAF_CAMPAIGN there is no measurement.
func TestPageIsFast(t *testing.T) {
	if campaign() == 0 {
		t.Skip("GEARLEAF_CAMPAIGN asks for it")
	}
	var large []string
	for _, path := range templatePages(t) {
		if name := filepath.Base(path); name == "quarter-mile.html" || name == "set-up-book.html" || name == largestBook {
			large = append(large, path)
		}
	}
	browser(t, "speed", large...)
}

// campaign is how many generated sheets are tried: what GEARLEAF_CAMPAIGN says,
// which the CI sets, or 0 for a few.
func campaign() int {
	n, _ := strconv.Atoi(os.Getenv("GEARLEAF_CAMPAIGN"))
	return n
}

// TestPageSameNumbers holds pages in the browser to the tool: every value to
// the bit, every text and cause to the character.
func TestPageSameNumbers(t *testing.T) {
	generated, changes := 6, 2
	if n := campaign(); n > 0 {
		generated, changes = n, 8
	}
	browser(t, "same", pages(t, generated, changes)...)
}

// TestPageDistrustsItself makes the general form differ from the fast one.
func TestPageDistrustsItself(t *testing.T) { browser(t, "doubt", pageFile(t, "bike", bike)) }

// TestSiteWorksWithoutSignal visits a site, ends its server, and asks again.
func TestSiteWorksWithoutSignal(t *testing.T) {
	s, list := sheet.FromText("bike.leaf", bike)
	if s == nil {
		t.Fatal(list)
	}
	r, err := s.Compute()
	if err != nil {
		t.Fatal(err)
	}
	files, err := export.SiteFiles(r)
	if err != nil {
		t.Fatal(err)
	}
	folder := t.TempDir()
	for _, f := range files {
		if err := os.WriteFile(filepath.Join(folder, f.Name), f.Data, 0o600); err != nil {
			t.Fatal(err)
		}
	}
	browser(t, "offline", folder)
}

// attacks are texts that become markup or script where they are not escaped.
var attacks = []string{
	`<script>ran = true</script>`,
	`</script><script>ran = true</script>`,
	`<!--<script>ran = true</script>`,
	`<img src=x onerror="ran = true">`,
	`""><img src=x onerror=ran=true>`,
	`' onmouseover='ran=true`,
	`</title><script>ran = true</script>`,
	`</style><script>ran = true</script>`,
	`</textarea><script>ran = true</script>`,
	`{{.Title}} ${ran = true}`,
	`<svg onload=ran=true>`,
	`<iframe srcdoc="<script>parent.ran = true</script>">`,
	`javascript:ran=true`,
	`<base href=https://example.org/>`,
	`<style>body{display:none}</style>`,
	"&lt;script&gt;ran = true&lt;/script&gt; &#60;b&#62;",
}

func TestPageHostileTexts(t *testing.T) {
	var text strings.Builder
	quote := func(s string) string { return `"` + strings.ReplaceAll(s, `"`, `""`) + `"` }
	text.WriteString("title " + quote(attacks[6]+attacks[1]) + "\n")
	for _, a := range attacks {
		text.WriteString("caution " + quote(a) + "\nnote " + quote(a) + "\n")
	}
	for i, a := range attacks {
		n := string(rune('a' + i))
		text.WriteString("\nsection " + quote(a) + "\n# " + a + "\ngiven_" + n + " : 3 choice 3, 4 " + quote(a) + "\n")
		text.WriteString("word_" + n + " : " + quote(a) + " choice " + quote(a) + ", \"other\" " + quote(a) + "\n")
		text.WriteString("text_" + n + " = if given_" + n + " > 3 then word_" + n + " else " + quote(a) + " " + quote(a) + "\n")
		text.WriteString("sum_" + n + " = given_" + n + " / (given_" + n + " - 3) " + quote(a) + "\n")
		text.WriteString("limit given_" + n + " < 3 " + quote(a) + "\n")
		text.WriteString("table rows_" + n + " " + quote(a) + "\n  at : 1, 2\n  name : " + quote(a) + ", \"b\" " + quote(a) + "\n  twice = 2 * at " + quote(a) + "\n")
		text.WriteString("chart " + quote(a) + " x rows_" + n + ".name y rows_" + n + ".twice\n")
	}
	browser(t, "hostile", pageFile(t, "hostile", text.String()))
}
