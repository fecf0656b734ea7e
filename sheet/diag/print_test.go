package diag_test

import (
	"strings"
	"testing"
	"unicode/utf8"

	"gearleaf/sheet/diag"
	"gearleaf/sheet/source"
)

// marked builds a diagnostic on the text between the first « and » of line,
// which are taken out.
func marked(line string) diag.Diagnostic {
	before, rest, _ := strings.Cut(line, "«")
	within, after, _ := strings.Cut(rest, "»")
	start := int32(len(before))
	return diag.Diagnostic{
		Code: "unit-apart", File: source.New("mule.leaf", before+within+after),
		Span:    source.Span{Start: start, End: start + int32(len(within))},
		Message: "several blanks", Help: "one blank",
	}
}

func TestPrint(t *testing.T) {
	long := strings.Repeat("1234567890", 30)
	cases := map[string]struct{ line, want string }{
		"a span": {"a : 1\nx : 17«  »teeth\n", "" +
			"mule.leaf:2:7: error: several blanks [unit-apart]\n" +
			"     2 | x : 17  teeth\n" +
			"       |       ^^\n" +
			"  help: one blank\n"},
		"an empty span at the end": {"x :«»", "" +
			"mule.leaf:1:4: error: several blanks [unit-apart]\n" +
			"     1 | x :\n" +
			"       |    ^\n" +
			"  help: one blank\n"},
		"an empty text": {"«»", "" +
			"mule.leaf:1:1: error: several blanks [unit-apart]\n" +
			"  help: one blank\n"},
		"tabs": {"\tx : 17«\t\t»teeth", "" +
			"mule.leaf:1:8: error: several blanks [unit-apart]\n" +
			"     1 |     x : 17        teeth\n" +
			"       |           ^^^^^^^^\n" +
			"  help: one blank\n"},
		"wide characters": {"note \"車輪\" «車»", "" +
			"mule.leaf:1:11: error: several blanks [unit-apart]\n" +
			"     1 | note \"車輪\" 車\n" +
			"       |             ^^\n" +
			"  help: one blank\n"},
		"a span over lines": {"a\r\nx = («3 +\r\n4\r\n»y", "" +
			"mule.leaf:2:6: error: several blanks [unit-apart]\n" +
			"     2 | x = (3 +\n" +
			"       |      ^^^\n" +
			"  help: one blank\n"},
		"control characters": {"x : \x1b[31m«\x00»", "" +
			"mule.leaf:1:10: error: several blanks [unit-apart]\n" +
			"     1 | x : ␛[31m␀\n" +
			"       |          ^\n" +
			"  help: one blank\n"},
		"a long line": {long + "«x»" + long, "" +
			"mule.leaf:1:301: error: several blanks [unit-apart]\n" +
			"     1 | …" + long[len(long)-44:] + "x" + long[:29] + "…\n" +
			"       | " + strings.Repeat(" ", 45) + "^\n" +
			"  help: one blank\n"},
	}
	for name, c := range cases {
		t.Run(name, func(t *testing.T) {
			var b strings.Builder
			diag.Print(&b, diag.List{marked(c.line)}, diag.Look{})
			if b.String() != c.want {
				t.Errorf("got\n%s\nwant\n%s", b.String(), c.want)
			}
		})
	}
}

func TestPrintSeveral(t *testing.T) {
	first, second := marked("x : «1»"), marked("y : «2»")
	second.Severity, second.Help = diag.Advice, ""
	second.Related = []diag.Related{{File: first.File, Span: first.Span, Message: "the other one"}}
	nowhere := diag.Diagnostic{Code: "load-unreadable", Message: "no such file"}
	var b strings.Builder
	diag.Print(&b, diag.List{first, second, nowhere}, diag.Look{})
	want := "mule.leaf:1:5: error: several blanks [unit-apart]\n" +
		"     1 | x : 1\n" +
		"       |     ^\n" +
		"  help: one blank\n" +
		"\n" +
		"mule.leaf:1:5: advice: several blanks [unit-apart]\n" +
		"     1 | y : 2\n" +
		"       |     ^\n" +
		"  mule.leaf:1:5: the other one\n" +
		"     1 | x : 1\n" +
		"       |     ^\n" +
		"\n" +
		"error: no such file [load-unreadable]\n"
	if b.String() != want {
		t.Errorf("got\n%s\nwant\n%s", b.String(), want)
	}
}

func TestPrintColorOnlyWhenAsked(t *testing.T) {
	for _, color := range []bool{false, true} {
		var b strings.Builder
		diag.Print(&b, diag.List{marked("x : «1»")}, diag.Look{Color: color})
		if strings.Contains(b.String(), "\x1b") != color {
			t.Errorf("color %v: got %q", color, b.String())
		}
	}
}

func FuzzPrint(f *testing.F) {
	f.Add("x : 17  teeth\n", 6, 8)
	f.Add("\ufeffnote \"車輪\"\r\n\x00\xff", 1, 30)
	f.Fuzz(func(t *testing.T, text string, from, to int) {
		file := source.New("x", text)
		if from < 0 || to < from || to > len(text) {
			t.Skip()
		}
		var b strings.Builder
		diag.Print(&b, diag.List{{File: file, Span: source.Span{Start: int32(from), End: int32(to)}, Message: "m"}}, diag.Look{})
		for _, r := range b.String() {
			if r < ' ' && r != '\n' {
				t.Fatalf("a control character reaches the terminal: %q", b.String())
			}
		}
		if !utf8.ValidString(b.String()) {
			t.Fatalf("not UTF-8: %q", b.String())
		}
	})
}
