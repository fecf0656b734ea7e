// Command bundle writes the page's scripts and style sheets: one minified
// script of all modules. A phone's page should be small. The program embeds the
// results, so it does not contain the minifier.
package main

import (
	"fmt"
	"os"
	"path/filepath"
	"regexp"
	"strings"

	"github.com/tdewolff/minify/v2"
	"github.com/tdewolff/minify/v2/css"
	"github.com/tdewolff/minify/v2/js"
)

// modules are the parts of the script, each after those that it imports.
var modules = []string{
	"number", "flight", "words", "trace", "fault", "quantity", "module", "engine", "sheet", "chart",
	"element", "view", "table", "givens", "compare", "ask", "home", "live", "door", "main",
}

var (
	importLine = regexp.MustCompile(`(?ms)^import [^;]*;\n`)
	exportWord = regexp.MustCompile(`(?m)^export (function|class|const|let|async)`)
)

// ownMath prevents the minifier from writing Math.trunc(x) as x|0, which
// differs from 2^31 on, and Math.abs(x) as x<0?-x:x, which keeps -0: it
// recognises the functions by the name Math.
const ownMath = "const numerics = Math;\n"

func main() {
	if len(os.Args) != 3 {
		fmt.Fprintln(os.Stderr, "usage: bundle FOLDER OUT: the folder with script and style, and the one for the results")
		os.Exit(2)
	}
	if err := bundle(os.Args[1], os.Args[2]); err != nil {
		fmt.Fprintln(os.Stderr, "bundle:", err)
		os.Exit(1)
	}
}

// bundle reads the files of a folder and writes the minified ones to out.
func bundle(folder, out string) error {
	m := minify.New()
	m.AddFunc(".css", css.Minify)
	m.AddFunc(".js", js.Minify)
	script, err := joined(folder)
	if err != nil {
		return err
	}
	texts := map[string]string{"page.js": script}
	for name, from := range map[string]string{"page.css": "style/page.css", "live.css": "style/live.css", "boot.js": "script/boot.js"} {
		text, err := os.ReadFile(filepath.Join(folder, from))
		if err != nil {
			return err
		}
		texts[name] = string(text)
	}
	for name, text := range texts {
		short, err := m.String(filepath.Ext(name), text)
		if err != nil {
			return fmt.Errorf("%s: %w", name, err)
		}
		if err := os.WriteFile(filepath.Join(out, name), []byte(short), 0o644); err != nil {
			return err
		}
	}
	return nil
}

// joined returns the modules one after the other, without their imports and
// exports, in a scope of their own.
func joined(folder string) (string, error) {
	var out strings.Builder
	out.WriteString("(()=>{\"use strict\";\n" + ownMath)
	for _, name := range modules {
		text, err := os.ReadFile(filepath.Join(folder, "script", name+".js"))
		if err != nil {
			return "", err
		}
		own := strings.ReplaceAll(importLine.ReplaceAllString(string(text), ""), "Math.", "numerics.")
		out.WriteString(exportWord.ReplaceAllString(own, "$1"))
	}
	out.WriteString("})();")
	return out.String(), nil
}
