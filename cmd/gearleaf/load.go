package main

import (
	"github.com/spf13/cobra"

	"gearleaf/sheet"
	"gearleaf/sheet/diag"
)

// load reads the sheet at path and prints its diagnostics; the error says only
// that it cannot be computed.
func load(cmd *cobra.Command, path string) (*sheet.Sheet, error) {
	s, list := sheet.Load(path)
	diagnose(cmd, list)
	if s == nil {
		return nil, errRefused
	}
	return s, nil
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
// given is set once.
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
		out = append(out, one)
	}
	if len(list) > 0 {
		diagnose(cmd, list)
		return nil, errRefused
	}
	return out, nil
}
