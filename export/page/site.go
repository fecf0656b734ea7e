package page

import (
	"bytes"
	"encoding/json"
	"strings"
)

// File is a file of a site.
type File struct {
	Name string
	Data []byte
}

// manifest lets a phone put a page on its home screen.
type manifest struct {
	Name       string         `json:"name"`
	ShortName  string         `json:"short_name"`
	StartURL   string         `json:"start_url"`
	Scope      string         `json:"scope"`
	Display    string         `json:"display"`
	Background string         `json:"background_color"`
	Theme      string         `json:"theme_color"`
	Icons      []manifestIcon `json:"icons"`
}

type manifestIcon struct {
	Source string `json:"src"`
	Sizes  string `json:"sizes"`
	Type   string `json:"type"`
}

// icon is two sprockets, drawn for this page.
const icon = `<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 64 64">` +
	`<rect width="64" height="64" rx="10" fill="#1c5d55"/>` +
	`<g fill="none" stroke="#fbfaf6" stroke-width="5"><circle cx="24" cy="36" r="14" stroke-dasharray="5 2.33"/><circle cx="46" cy="22" r="7" stroke-dasharray="4 1.5"/></g></svg>` + "\n"

// Site returns the files of a site that shows the page and keeps it for use
// without a network; the page itself comes last.
func Site(in Input) ([]File, error) {
	in.Site = true
	var out bytes.Buffer
	if err := Write(&out, in); err != nil {
		return nil, err
	}
	title := in.Sheet.Model.Title
	if title == "" {
		title = "Worksheet"
	}
	m, err := json.MarshalIndent(manifest{
		Name: title, ShortName: short12(title), StartURL: "./", Scope: "./", Display: "standalone",
		Background: "#fbfaf6", Theme: "#1c5d55", Icons: []manifestIcon{{"icon.svg", "any", "image/svg+xml"}},
	}, "", "  ")
	if err != nil {
		return nil, err
	}
	worker := strings.Replace(read("script/worker.js"), "VERSION", hashOf(out.String()), 1)
	return []File{
		{"icon.svg", []byte(icon)},
		{"manifest.webmanifest", append(m, '\n')},
		{"worker.js", []byte(worker)},
		{"index.html", out.Bytes()},
	}, nil
}

// short12 shortens a title to fit below an icon.
func short12(title string) string {
	letters := []rune(title)
	if len(letters) > 12 {
		letters = letters[:12]
	}
	return strings.TrimSpace(string(letters))
}
