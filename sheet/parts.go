package sheet

import (
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"path/filepath"
	"slices"

	"gearleaf/sheet/check"
	"gearleaf/sheet/disk"
	"gearleaf/sheet/source"
)

// Part is an input of a sheet's numbers: the sheet itself, a sheet that it
// uses, the file of a table, or the settings that replaced its givens.
type Part struct {
	Path string // slashes between folders, from the folder of the sheet
	Data []byte
}

// Parts returns the files of a sheet, itself first.
func (s *Sheet) Parts() ([]Part, error) {
	folder := filepath.Dir(s.Model.Files[0].File.Name)
	from := func(path string) string {
		if rel, err := filepath.Rel(folder, path); err == nil {
			return filepath.ToSlash(rel)
		}
		return filepath.ToSlash(path)
	}
	var out []Part
	for _, f := range s.Model.Files {
		out = append(out, Part{from(f.File.Name), []byte(f.File.Text)})
	}
	for _, path := range s.tableFiles(func(t *check.Table) bool { return t.Fault == "" }) {
		data, err := disk.ReadFile(path, source.MaxFileBytes)
		if err != nil {
			return nil, Unreadable(path, err)
		}
		out = append(out, Part{from(path), data})
	}
	if text := s.settingsText(); text != "" {
		out = append(out, Part{"settings.txt", []byte(text)})
	}
	return out, nil
}

// Reads returns the paths of all files that the sheet reads, itself first.
func (s *Sheet) Reads() []string {
	var out []string
	for _, f := range s.Model.Files {
		out = append(out, f.File.Name)
	}
	return append(out, s.tableFiles(func(*check.Table) bool { return true })...)
}

// tableFiles returns the paths of the files of the tables for which want is true.
func (s *Sheet) tableFiles(want func(*check.Table) bool) []string {
	var out []string
	for _, t := range s.Model.Tables {
		if t.Library || t.From == "" || !want(t) {
			continue
		}
		path := filepath.Join(filepath.Dir(s.Model.Files[t.Origin.File].File.Name), filepath.FromSlash(t.From))
		if !slices.Contains(out, path) {
			out = append(out, path)
		}
	}
	return out
}

// settingsText lists the values that replace givens, one per line; numbers are
// in SI units.
func (s *Sheet) settingsText() string {
	text := ""
	for _, set := range s.Overrides() {
		q := set.Quantity()
		value := s.Text(q, set.Value)
		if q.Type.Form == check.Number {
			value = fmt.Sprintf("%.17g in SI, %s", set.Value, value)
		}
		text += set.Name() + " = " + value + "\n"
	}
	return text
}

// Hash returns the SHA-256 of parts, including their names and lengths.
func Hash(parts []Part) string {
	h := sha256.New()
	for _, p := range parts {
		fmt.Fprintf(h, "%s\x00%d\x00", p.Path, len(p.Data))
		h.Write(p.Data)
	}
	return hex.EncodeToString(h.Sum(nil))
}
