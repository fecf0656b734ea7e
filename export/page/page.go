// Package page writes a computed sheet as one HTML file that calculates on a
// phone: the sheet's checked formulas, a script that evaluates them, and a
// document that shows every value without the script.
//
// The document is page.html, its style sheets are style/*.css, its scripts
// script/*.js; they are joined here. The file loads nothing from the network,
// and its content security policy allows only its own scripts and styles, by
// their hashes.
package page

import (
	"bytes"
	"compress/gzip"
	"crypto/sha256"
	"embed"
	"encoding/base64"
	"encoding/hex"
	"encoding/json"
	"fmt"
	"html/template"
	"io"
	"regexp"
	"strings"
	"sync"

	"github.com/tdewolff/minify/v2"
	"github.com/tdewolff/minify/v2/css"
	"github.com/tdewolff/minify/v2/js"

	"gearleaf/export/chart"
	"gearleaf/sheet"
)

//go:embed page.html style script
var files embed.FS

// Input is what a page is made of.
type Input struct {
	Sheet  *sheet.Sheet
	Result *sheet.Result
	Charts []chart.Chart // of the sheet, with the values of Result
	Hash   string        // of all files that the numbers come from; empty to have it worked out
	Live   bool          // the page is served: it follows the worksheet and may write to it
	Site   bool          // the page is one of a site: it names a manifest and a service worker
}

// Write writes the page.
func Write(w io.Writer, in Input) error {
	if in.Hash == "" {
		parts, err := in.Sheet.Parts()
		if err != nil {
			return err
		}
		in.Hash = sheet.Hash(parts)
	}
	d, code := data(in)
	text, err := json.Marshal(d)
	if err != nil {
		return err
	}
	v := newView(in, d)
	v.Style = template.CSS(styles())
	v.Boot = template.JS(boot())
	v.Data, v.Code = packed(text), packed(code)
	v.Packed, v.Policy = packedScript(), policy(in)
	var out bytes.Buffer
	if err := document().Execute(&out, v); err != nil {
		return err
	}
	_, err = w.Write(out.Bytes())
	return err
}

// document parses the template of the page.
func document() *template.Template {
	text, err := files.ReadFile("page.html")
	if err != nil {
		panic(err) // it is embedded
	}
	return template.Must(template.New("page").Parse(string(text)))
}

// styles returns the style sheet, and scripts the script: the modules one after
// the other, without their imports and exports, in a scope of their own. Both
// are minified once per process, because a phone's page should be small.
var (
	styles  = sync.OnceValue(func() string { return short("text/css", read("style/page.css")) })
	boot    = sync.OnceValue(func() string { return short("text/javascript", read("script/boot.js")) })
	scripts = sync.OnceValue(func() string {
		var out strings.Builder
		out.WriteString("(()=>{\"use strict\";\n")
		for _, name := range modules {
			text := importLine.ReplaceAllString(read("script/"+name+".js"), "")
			out.WriteString(exportWord.ReplaceAllString(text, "$1"))
		}
		out.WriteString("})();")
		return short("text/javascript", out.String())
	})
)

// packedScript is the script as the document carries it.
var packedScript = sync.OnceValue(func() string { return packed([]byte(scripts())) })

// packed returns a text as the document carries it: by gzip, in the letters of
// base64url. The same text gives the same letters.
func packed(text []byte) string {
	var out bytes.Buffer
	z, err := gzip.NewWriterLevel(&out, gzip.BestCompression)
	if err == nil {
		_, err = z.Write(text)
	}
	if err == nil {
		err = z.Close()
	}
	if err != nil {
		panic(err) // the level is a good one, and a buffer takes everything
	}
	return base64.RawURLEncoding.EncodeToString(out.Bytes())
}

// modules are the parts of the script, each after those that it imports.
var modules = []string{
	"number", "flight", "words", "trace", "fault", "quantity", "module", "engine", "sheet", "chart",
	"element", "view", "table", "givens", "compare", "ask", "home", "live", "door", "main",
}

var (
	importLine = regexp.MustCompile(`(?ms)^import [^;]*;\n`)
	exportWord = regexp.MustCompile(`(?m)^export (function|class|const|let|async)`)
)

// short removes comments and blanks from a file.
func short(kind, text string) string {
	m := minify.New()
	m.AddFunc("text/css", css.Minify)
	m.AddFunc("text/javascript", js.Minify)
	out, err := m.String(kind, text)
	if err != nil {
		panic(err) // the files are embedded, and tests run them
	}
	return out
}

func read(name string) string {
	text, err := files.ReadFile(name)
	if err != nil {
		panic(err) // it is embedded
	}
	return string(text)
}

// policy returns the content security policy of a page: its own script and
// styles by their hashes, compiled WebAssembly, and nothing else.
func policy(in Input) string {
	connect, images := "'none'", "data:"
	if in.Live || in.Site {
		connect = "'self'"
	}
	if in.Site {
		images = "'self'"
	}
	rules := []string{
		"default-src 'none'",
		fmt.Sprintf("script-src '%s' '%s' 'wasm-unsafe-eval'", hashOf(boot()), hashOf(scripts())),
		fmt.Sprintf("style-src '%s'", hashOf(styles())),
		"connect-src " + connect,
		"img-src " + images,
		"base-uri 'none'",
		"form-action 'none'",
	}
	if in.Site {
		rules = append(rules, "manifest-src 'self'", "worker-src 'self'")
	}
	return strings.Join(rules, "; ")
}

// hashOf returns the hash of an inline script or style as a policy names it.
func hashOf(text string) string {
	sum := sha256.Sum256([]byte(text))
	return "sha256-" + base64.StdEncoding.EncodeToString(sum[:])
}

// textHash returns the SHA-256 of the worksheet's own text.
func textHash(s *sheet.Sheet) string {
	sum := sha256.Sum256([]byte(s.Model.Files[0].File.Text))
	return hex.EncodeToString(sum[:])
}
