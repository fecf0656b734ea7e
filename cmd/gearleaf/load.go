package main

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"strings"

	"github.com/spf13/cobra"

	"gearleaf/export"
	"gearleaf/sheet"
	"gearleaf/sheet/diag"
	"gearleaf/templates"
)

// load reads the sheet at path and prints its diagnostics; the error only says
// that it cannot be computed.
func load(cmd *cobra.Command, path string) (*sheet.Sheet, error) {
	if err := noSheet(cmd, path); err != nil {
		return nil, err
	}
	s, list := sheet.Load(path)
	diagnose(cmd, list)
	if s == nil {
		return nil, errRefused
	}
	return s, nil
}

// noSheet explains a path without a worksheet: another kind of file, or no
// file, with the worksheet that may have been meant.
func noSheet(cmd *cobra.Command, path string) error {
	if err := otherKind(cmd, path); err != nil {
		return err
	}
	if _, err := os.Stat(path); !errors.Is(err, fs.ErrNotExist) {
		return nil
	}
	return fmt.Errorf("there is no worksheet %s%s", path, whichSheet(path))
}

// otherKind explains a path whose ending is not a worksheet's.
func otherKind(cmd *cobra.Command, path string) error {
	if _, written := export.ByExtension(path); !written && !isWorkbook(path) && !isOtherBook(path) && !strings.EqualFold(filepath.Ext(path), ".pdf") {
		return nil
	}
	return fmt.Errorf("%s is not a worksheet, which ends in .leaf; %s is used as %s%s", path, commandName(cmd), useLine(cmd), helpHint(cmd))
}

// whichSheet returns the help for a missing worksheet: a template of that name,
// a worksheet beside it with a similar name, or a list of them.
func whichSheet(path string) string {
	folder, name := filepath.Dir(path), strings.TrimSuffix(filepath.Base(path), ".leaf")
	files, err := os.ReadDir(folder)
	if err != nil {
		return fmt.Sprintf(": there is no folder %s", folder)
	}
	if _, ok := templates.Find(name); ok {
		return fmt.Sprintf(": gearleaf new %s writes it", name)
	}
	var sheets, bare []string
	for _, f := range files {
		if leaf, ok := strings.CutSuffix(f.Name(), ".leaf"); ok && !f.IsDir() {
			sheets, bare = append(sheets, f.Name()), append(bare, leaf)
		}
	}
	if i := nearest(name, bare); i >= 0 {
		return fmt.Sprintf(": did you mean %q?", filepath.Join(folder, sheets[i]))
	}
	return fmt.Sprintf("; worksheets in this folder: %s", quotedList(sheets))
}

// diagnose prints diagnostics on standard error.
func diagnose(cmd *cobra.Command, list diag.List) {
	w := cmd.ErrOrStderr()
	look := diag.Look{Color: newPage(w).color}
	if columns, known := columnsOf(w); known {
		look.Width = columns
	}
	diag.Print(direct(w), list, look)
}

// refuse prints d and returns the error for "not computed".
func refuse(cmd *cobra.Command, d diag.Diagnostic) error {
	diagnose(cmd, diag.List{d})
	return errRefused
}

// set puts the settings of --set into s.
func set(cmd *cobra.Command, s *sheet.Sheet, texts []string) error {
	settings, err := settings(cmd, s, texts)
	s.Set(settings...)
	return err
}

// settings reads every name=quantity and reports all that cannot be set. A
// given can be set once.
func settings(cmd *cobra.Command, s *sheet.Sheet, texts []string) ([]sheet.Setting, error) {
	var out []sheet.Setting
	var list diag.List
	seen := map[string]bool{}
	for _, text := range texts {
		one, d := s.ParseSetting(text)
		if d == nil && seen[one.Name()] {
			d = sheet.Refuse("%s is set twice: remove one of the two", one.Name()).Diagnostic
		}
		if d != nil {
			list.Add(*d)
			continue
		}
		seen[one.Name()] = true
		one.ShowAsTyped(text)
		out = append(out, one)
	}
	if len(list) > 0 {
		diagnose(cmd, list)
		return nil, errRefused
	}
	return out, nil
}
