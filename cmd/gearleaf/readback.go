package main

import (
	"errors"
	"fmt"
	"io"
	"io/fs"
	"path/filepath"
	"slices"
	"strings"

	"github.com/spf13/cobra"

	"gearleaf/export"
	"gearleaf/sheet"
	"gearleaf/sheet/disk"
)

const readbackLong = `Read the givens that were changed in a workbook which export has written, and
see everything that the changes affect in the worksheet, before and after. A
spreadsheet may have saved the workbook in between. The file of changes that a
page saves, FILE.leaf, is read in the same way.

Units, choices and whole numbers are checked against the worksheet. --write puts
the values into its text and changes no other byte: all of them or none. If the
text has changed since the workbook was written, three values are compared: the
exported one, the workbook's and the text's. A given that was changed on both
sides is a conflict, and while there is one nothing is written.

A workbook may have been saved with macros (.xlsm) or as a template (.xltx);
save any other format, such as .ods or .xls, as .xlsx first.

An entry may be a text with a unit, such as "78.3 in". A date, a logical value,
a percentage of something else and a number far from the old one are refused. A
value is ambiguous if it differs from the old one by a factor of a hundred or a
thousand, by the place of its point or by its sign alone; if it is near it in
another unit (1013 after 29.92 inHg), on a gauge instead of absolute or the other
way round (28.7 after 14 psig); or if it is the number of a day. It is refused
until the cell is corrected or --accept names the given.

Added, renamed and reordered tabs, inserted rows and columns, moved tables and
added formulas are reported and have no effect. Nothing is read from a workbook
in which a formula, a unit or a computed number was changed, an entry's row,
column or tab was deleted, cells were moved without their formulas, from a
damaged one, or from one that export did not write.

--text prints the exact text of the worksheet that was exported. With --folder,
the text and every worksheet it uses are written into a new folder.

--json prints the answer as JSON:

  format, version   "gearleaf readback", 1
  text_changed      whether the text has changed since the export
  already           changes of the workbook that the text has too
  conflicts         name, unit, exported, workbook, text, reason
  refused           name, tab, field, reason; asked where --accept takes it
  notes             changes of the workbook that do not matter
  change            what change --json prints; null where nothing was changed

Exit status: 0 read, with or without changes; 1 read, but afterwards a limit is
broken or a value is at fault; 2 not read, a value refused, or a conflict that
prevents --write.`

const readbackExample = `  gearleaf export bike.leaf -o bike.xlsx     # and change yellow fields in it
  gearleaf readback bike.xlsx bike.leaf
  gearleaf readback bike.xlsx bike.leaf --write
  gearleaf readback bike.xlsx --text > exported.leaf
  gearleaf readback bike.xlsx --text --folder exported`

type readbackOptions struct {
	write, text, json, full bool
	folder                  string
	accept                  []string
}

func newReadback() *cobra.Command {
	var o readbackOptions
	cmd := &cobra.Command{
		Use:               "readback WORKBOOK [SHEET]",
		Short:             "Read changed givens back out of a workbook",
		Long:              readbackLong,
		Example:           readbackExample,
		Args:              cobra.RangeArgs(1, 2),
		ValidArgsFunction: completeReadback,
		RunE: func(cmd *cobra.Command, args []string) error {
			if err := admitReturned(args, o.text); err != nil {
				return err
			}
			switch {
			case o.text && (len(args) > 1 || o.write || o.json):
				return errors.New("--text takes the workbook alone")
			case o.folder != "" && !o.text:
				return errors.New("--folder needs --text")
			case o.folder != "":
				return readTexts(cmd, args[0], o.folder)
			case o.text:
				return readText(cmd, args[0])
			case len(args) < 2:
				return errors.New("name the worksheet too, or ask for --text")
			}
			return readback(cmd, args[0], args[1], o)
		},
	}
	cmd.Flags().BoolVar(&o.write, "write", false, "put the changed values into the worksheet's text")
	cmd.Flags().BoolVar(&o.text, "text", false, "print the worksheet's text as it was exported")
	cmd.Flags().StringVar(&o.folder, "folder", "", "with --text: write it and all it uses into a new `folder`")
	cmd.Flags().StringSliceVar(&o.accept, "accept", nil, "take the value of this `given` that was asked about")
	cmd.Flags().BoolVar(&o.json, "json", false, "print the answer as JSON")
	cmd.Flags().BoolVar(&o.full, "full", false, "show every row of long tables")
	return cmd
}

// completeReadback offers a workbook, then a worksheet.
func completeReadback(_ *cobra.Command, args []string, _ string) ([]string, cobra.ShellCompDirective) {
	switch len(args) {
	case 0:
		return []string{"xlsx", "xlsm", "xltx", "leaf"}, cobra.ShellCompDirectiveFilterFileExt
	case 1:
		return onlySheets()
	}
	return nil, cobra.ShellCompDirectiveNoFileComp
}

func readText(cmd *cobra.Command, path string) error {
	text, err := export.WorkbookText(path)
	if err != nil {
		return err
	}
	_, err = io.WriteString(data(cmd.OutOrStdout()), text)
	return err
}

// readTexts writes the worksheet of a workbook, and all it uses, into a new
// folder: all of them, or nothing.
func readTexts(cmd *cobra.Command, path, folder string) error {
	texts, err := export.WorkbookTexts(path)
	if err != nil {
		return err
	}
	entries := make([]disk.Entry, len(texts))
	for i, t := range texts {
		entries[i] = disk.Entry{Name: t.Name, Data: []byte(t.Text)}
	}
	err = disk.WriteFolder(folder, entries)
	if errors.Is(err, fs.ErrExist) {
		return fmt.Errorf("%s is there already: name a new folder", folder)
	}
	if err != nil {
		return err
	}
	for _, t := range texts {
		fmt.Fprintln(cmd.OutOrStdout(), "wrote", filepath.Join(folder, filepath.FromSlash(t.Name)))
	}
	return nil
}

// returned is a returned file: a workbook, or the changes of a page.
type returned interface {
	Merge(s *sheet.Sheet) (*export.Merged, error)
}

// isChanges reports whether a returned file is the changes of a page.
func isChanges(path string) bool { return strings.EqualFold(filepath.Ext(path), ".leaf") }

// isWorkbook reports whether a file has the name of a workbook: also one that was
// saved with macros or as a template.
func isWorkbook(path string) bool {
	return slices.Contains([]string{".xlsx", ".xlsm", ".xltx", ".xltm"}, strings.ToLower(filepath.Ext(path)))
}

// isOtherBook reports whether a file is a spreadsheet of an unsupported format.
func isOtherBook(path string) bool {
	return slices.Contains([]string{".ods", ".fods", ".ots", ".xls", ".xlsb", ".gnumeric", ".numbers"}, strings.ToLower(filepath.Ext(path)))
}

const comesBack = "readback takes a workbook that export has written (.xlsx), or the changes that a page saves (.leaf)"

// admitReturned refuses files in the wrong order, and files of another kind.
func admitReturned(args []string, text bool) error {
	switch {
	case isWorkbook(args[0]):
		return nil
	case isOtherBook(args[0]):
		return fmt.Errorf("%s cannot be read back: save it as .xlsx in the program that saved it", args[0])
	case len(args) == 2 && isWorkbook(args[1]):
		return fmt.Errorf("the workbook comes first: gearleaf readback %s %s", args[1], args[0])
	case text:
		return fmt.Errorf("%s is no workbook: --text takes one that export has written (.xlsx)", args[0])
	case !isChanges(args[0]):
		return fmt.Errorf("%s cannot be read back: %s", args[0], comesBack)
	}
	return nil
}

// open opens a returned file.
func open(cmd *cobra.Command, path, worksheet string, accept []string) (returned, error) {
	if isChanges(path) {
		if len(accept) > 0 {
			return nil, errors.New("--accept needs a workbook")
		}
		changes, err := export.OpenChanges(path)
		if err != nil {
			return nil, fmt.Errorf("%w; %s", err, comesBack)
		}
		return changes, nil
	}
	return openReturned(cmd, path, worksheet, accept)
}

func readback(cmd *cobra.Command, workbook, path string, o readbackOptions) error {
	back, err := open(cmd, workbook, path, o.accept)
	if err != nil {
		return err
	}
	var s *sheet.Sheet
	var m *export.Merged
	var c *sheet.Changed
	wrote := false
	err = again(cmd, path, func() error {
		if s, m, c, err = merged(cmd, back, workbook, path); err != nil || !o.write || c == nil || m.Blocked() {
			return err
		}
		wrote = true
		return s.Write(m.Settings)
	})
	if err != nil {
		return err
	}
	if err := showReadback(cmd, s, m, c, o); err != nil {
		return err
	}
	switch {
	case wrote:
		notices := cmd.OutOrStdout()
		if o.json {
			notices = cmd.ErrOrStderr()
		}
		fmt.Fprintf(notices, "wrote %s\n", path)
	case len(m.Refused) > 0, o.write && m.Blocked():
		fmt.Fprintln(cmd.ErrOrStderr(), "gearleaf: nothing was written")
		return errRefused
	case c == nil:
		return nil
	}
	return outcome(c.After)
}

// merged compares a returned file with the worksheet at path, and computes the
// effect of its values; nil if they change nothing.
func merged(cmd *cobra.Command, back returned, workbook, path string) (*sheet.Sheet, *export.Merged, *sheet.Changed, error) {
	s, err := load(cmd, path)
	if err != nil {
		return nil, nil, nil, err
	}
	m, err := back.Merge(s)
	if err != nil {
		return nil, nil, nil, fmt.Errorf("%s: %w", workbook, err)
	}
	if len(m.Settings) == 0 {
		return s, m, nil, nil
	}
	c, err := s.Change(m.Settings)
	return s, m, c, err
}

// openReturned opens a workbook and checks that its values can be read.
func openReturned(cmd *cobra.Command, path, worksheet string, accept []string) (*export.Returned, error) {
	present, _ := sheet.Load(worksheet) // merging reports its errors
	back, list, err := export.OpenReturned(path, present)
	if err != nil {
		return nil, err
	}
	if back == nil {
		diagnose(cmd, list)
		return nil, errRefused
	}
	if len(back.Problems) > 0 {
		return nil, fmt.Errorf("%s cannot be read back:\n  %s\nNothing was read", path, strings.Join(firstOf(back.Problems), "\n  "))
	}
	return back, back.Accept(accept)
}

// firstOf returns the first of many, and the number of others.
func firstOf(list []string) []string {
	const most = 10
	if len(list) <= most {
		return list
	}
	return append(slices.Clone(list[:most]), fmt.Sprintf("and %d more", len(list)-most))
}

func showReadback(cmd *cobra.Command, s *sheet.Sheet, m *export.Merged, c *sheet.Changed, o readbackOptions) error {
	if o.json {
		doc, err := export.ReadbackDocument(s, m, c)
		if err != nil {
			return err
		}
		return printJSON(cmd, doc)
	}
	p := newPage(cmd.OutOrStdout())
	if m.TextChanged {
		p.hang("", "The text has changed since the export: three values of each given were compared.")
	}
	for _, note := range firstOf(m.Notes) {
		p.finding("note", p.quiet, note)
	}
	for _, e := range m.Refused {
		p.finding("REFUSED", p.alarm, refusedText(e))
	}
	for _, t := range m.Conflicts {
		p.finding("CONFLICT", p.alarm, conflictText(s, t))
	}
	if len(m.Already) > 0 {
		var names []string
		for _, at := range m.Already {
			names = append(names, at.Name())
		}
		p.hang("", "In the text already: "+strings.Join(names, ", "))
	}
	switch {
	case c != nil:
		r := changeReport{page: p, change: c, full: o.full}
		r.write()
	case len(m.Refused)+len(m.Conflicts)+len(m.Already) == 0:
		fmt.Fprintln(p.w, "Nothing was changed.")
	}
	return nil
}

// refusedText describes a refused entry; for a workbook, with its field.
func refusedText(e export.Entry) string {
	if e.Tab == "" {
		return e.Refused
	}
	return fmt.Sprintf("%s!%s: %s", e.Tab, e.Field, e.Refused)
}

// conflictText writes the three values of a given.
func conflictText(s *sheet.Sheet, t export.Conflict) string {
	where := ""
	if t.Entry.Tab != "" {
		where = t.Entry.Tab + "!" + t.Entry.Field + ": "
	}
	if t.Reason != "" {
		return where + t.Entry.Place.Name() + ": " + t.Reason
	}
	q := t.Entry.Place.Quantity()
	return where + fmt.Sprintf("%s was %s, was changed to %s and is %s in the text",
		t.Entry.Place.Name(), t.Exporter.Text(q, t.Exported), t.Exporter.Text(q, t.Entry.Setting.Value), s.Text(t.Place.Quantity(), t.Text))
}
