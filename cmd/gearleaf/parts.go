package main

import (
	"fmt"
	"strings"

	"github.com/spf13/cobra"

	"gearleaf/sheet"
	"gearleaf/sheet/check"
)

// parts are the sections and tables to which a report is limited.
type parts struct{ sections, tables map[string]bool }

// shows reports whether item, which is in section, is in p.
func (p *parts) shows(item check.Item, section string) bool {
	return p == nil || p.sections[section] || item.Table != nil && p.tables[item.Table.Name]
}

// sectionNames returns the sections of a sheet, each once, in reading order.
func sectionNames(s *sheet.Sheet) []string {
	var out []string
	seen := map[string]bool{}
	for item := range s.Model.Outline() {
		if item.Section != "" && !seen[item.Section] {
			seen[item.Section] = true
			out = append(out, item.Section)
		}
	}
	return out
}

// tableNames returns the tables of a sheet in reading order.
func tableNames(s *sheet.Sheet) []string {
	var out []string
	for item := range s.Model.Outline() {
		if item.Table != nil {
			out = append(out, item.Table.Name)
		}
	}
	return out
}

// matching returns the names that want selects: an equal one, otherwise all
// that begin with it.
func matching(want string, names []string) []string {
	var begin []string
	for _, n := range names {
		if strings.EqualFold(n, want) {
			return []string{n}
		}
		if want != "" && len(n) > len(want) && strings.EqualFold(n[:len(want)], want) {
			begin = append(begin, n)
		}
	}
	return begin
}

// quotedList writes names for a message, a dozen at most.
func quotedList(names []string) string {
	if len(names) == 0 {
		return "none"
	}
	var out []string
	for i, n := range names {
		if i == 12 {
			out = append(out, fmt.Sprintf("%d more", len(names)-i))
			break
		}
		out = append(out, fmt.Sprintf("%q", n))
	}
	return strings.Join(out, ", ")
}

// completeSections offers the sections of the sheet on the line.
func completeSections(_ *cobra.Command, args []string, typed string) ([]string, cobra.ShellCompDirective) {
	return completeParts(args, typed, sectionNames)
}

// completeTables offers the tables of the sheet on the line.
func completeTables(_ *cobra.Command, args []string, typed string) ([]string, cobra.ShellCompDirective) {
	return completeParts(args, typed, tableNames)
}

func completeParts(args []string, typed string, names func(*sheet.Sheet) []string) ([]string, cobra.ShellCompDirective) {
	s := quietly(args)
	if s == nil {
		return nil, cobra.ShellCompDirectiveNoFileComp
	}
	var out []string
	for _, n := range names(s) {
		if strings.HasPrefix(strings.ToLower(n), strings.ToLower(typed)) {
			out = append(out, n)
		}
	}
	return out, cobra.ShellCompDirectiveNoFileComp
}
