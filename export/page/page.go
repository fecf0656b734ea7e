// Package page writes a computed sheet as one HTML file that calculates on a
// phone: the sheet's compiled form, a script that runs it, and a document that
// shows every value without the script.
//
// The document is page.html, its style sheets are style/*.css, its scripts
// script/*.js; `go generate` joins them in short, without comments and blanks. The file loads nothing from the network,
// and its content security policy allows only its own scripts and styles, by
// their hashes.
package page

import (
	"bytes"
	"crypto/sha256"
	"embed"
	"encoding/base64"
	"encoding/json"
	"fmt"
	"html/template"
	"io"
	"strings"
	"sync"

	"github.com/klauspost/compress/gzip"
	"github.com/tdewolff/minify/v2"
	"github.com/tdewolff/minify/v2/html"

	"gearleaf/export/chart"
	"gearleaf/sheet"
)

//go:generate go run ./bundle . short

//go:embed page.html short script/worker.js
var files embed.FS

// Input is the input of a page.
type Input struct {
	Sheet  *sheet.Sheet
	Result *sheet.Result
	Charts []chart.Chart // of the sheet, with the values of Result
	Set    string        // the givens that are not those of the worksheet; empty for none
	Hash   string        // of all files that the numbers come from; empty to compute it
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
	v.Data, v.Code, v.Packed = packed(text), packed(code), packedScript()
	v.Policy = policy(in)
	var out bytes.Buffer
	if err := document().Execute(&out, v); err != nil {
		return err
	}
	return shortDocument(w, out.Bytes())
}

// shortDocument writes the document without optional tags and quotes and
// without invisible blanks. Scripts and styles stay unchanged, because the
// policy names their hashes.
func shortDocument(w io.Writer, text []byte) error {
	m := minify.New()
	m.AddFunc("text/html", html.Minify)
	var short bytes.Buffer // Minify drops the errors of what it writes to
	if err := m.Minify("text/html", &short, bytes.NewReader(text)); err != nil {
		return err
	}
	_, err := short.WriteTo(w)
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

// The page's styles and scripts, minified by bundle.
var (
	styles  = sync.OnceValue(func() string { return read("short/page.css") })
	live    = sync.OnceValue(func() string { return read("short/live.css") })
	boot    = sync.OnceValue(func() string { return read("short/boot.js") })
	scripts = sync.OnceValue(func() string { return read("short/page.js") })
)

// packedScript is the script in the document.
var packedScript = sync.OnceValue(func() template.HTML { return packed([]byte(scripts())) })

// packed returns a text for the document: compressed by gzip, in letters. The
// same text gives the same letters.
func packed(text []byte) template.HTML {
	var out bytes.Buffer
	z, err := gzip.NewWriterLevel(&out, gzip.BestCompression)
	if err == nil {
		_, err = z.Write(text)
	}
	if err == nil {
		err = z.Close()
	}
	if err != nil {
		panic(err) // the level is valid, and a buffer never fails
	}
	return template.HTML(letters(out.Bytes())) //nolint:gosec // no letter is markup
}

// letters writes bytes as text: 13 bits are two of the 91 letters from # to ~
// without <. That is a twelfth shorter than base64. Up to 6 remaining bits are
// one letter.
func letters(data []byte) string {
	const count = 91
	out := make([]byte, 0, len(data)*16/13+3)
	letter := func(v uint32) byte {
		if v += '#'; v >= '<' {
			v++
		}
		return byte(v)
	}
	bits, have := uint32(0), 0
	for _, b := range data {
		bits |= uint32(b) << have
		if have += 8; have >= 13 {
			v := bits & 0x1FFF
			out = append(out, letter(v/count), letter(v%count))
			bits, have = bits>>13, have-13
		}
	}
	switch {
	case have > 6:
		out = append(out, letter(bits/count), letter(bits%count))
	case have > 0:
		out = append(out, letter(bits))
	}
	return string(out)
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
