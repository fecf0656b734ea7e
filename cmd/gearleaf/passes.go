package main

import (
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"io"
	"math"
	"path/filepath"
	"slices"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"gearleaf/export"
	"gearleaf/sheet"
	"gearleaf/sheet/check"
	"gearleaf/sheet/disk"
	"gearleaf/sheet/passbook"
	"gearleaf/sheet/source"
	"gearleaf/sheet/unit"
)

const passesLong = `Keep a book of passes: a CSV file to which lines are only ever added.

"passes add" writes one line: when, the worksheet with the SHA-256 of all its
files (a copy of them goes into BOOK.csv.sheets), results of the sheet, splits
from a log, and your remarks. "passes list" shows the book, and which lines
have been altered.

A crash loses nothing: a line is on the disk when the command ends, and a
truncated line is detected by its checksum and kept. Simultaneous writers wait
for each other (BOOK.csv.lock). A worksheet can read the book as a table: table
passes from "BOOK.csv". In the file a quote sign precedes a text that a
spreadsheet would read as a formula; list shows it without the sign.

Exit status: 0 done; 1 listed, with lines that have been altered; 2 not done.`

const passesExample = `  gearleaf new quarter-mile
  gearleaf passes add book.csv quarter-mile.leaf note="shakedown"
  gearleaf log quarter-mile.leaf run.csv --invent           # a log to try
  gearleaf passes add book.csv quarter-mile.leaf --log run.csv
  gearleaf passes list book.csv`

func newPasses() *cobra.Command {
	cmd := &cobra.Command{
		Use:               "passes add|list BOOK.csv",
		Short:             "Keep a book of passes that loses nothing",
		Long:              passesLong,
		Example:           passesExample,
		Args:              cobra.ArbitraryArgs,
		ValidArgsFunction: cobra.NoFileCompletions,
	}
	cmd.AddCommand(newPassesAdd(), newPassesList())
	return cmd
}

const passesAddLong = `Add one line to a book of passes, which is created if it does not exist.

The columns are pass (counted), at, sheet, sheet sha256, set (the givens that
--set has changed, if there are any), those of --show with their units, those of --log (its own SHA-256, elapsed and speed at each mark
that the track has), the names of name=value, note and check. A later pass may
add columns; earlier passes are blank there. A column of --show keeps its first
unit, regardless of the worksheet's present one. A name that is similar to that
of a column is refused; --column NAME adds the column.`

const passesAddExample = `  gearleaf passes add book.csv quarter-mile.leaf --show elapsed_time,trap_speed
  gearleaf passes add book.csv quarter-mile.leaf --log run.csv note="head wind"
  gearleaf passes add book.csv quarter-mile.leaf engine=2 tyre="no. 7"`

type passesAddOptions struct {
	logReading
	log    string
	show   []string
	column []string
}

func newPassesAdd() *cobra.Command {
	var o passesAddOptions
	cmd := &cobra.Command{
		Use:     "add BOOK.csv SHEET [NAME=VALUE…]",
		Short:   "Add one line to a book of passes",
		Long:    passesAddLong,
		Example: passesAddExample,
		Args:    cobra.MinimumNArgs(2),
		ValidArgsFunction: func(_ *cobra.Command, args []string, _ string) ([]string, cobra.ShellCompDirective) {
			switch len(args) {
			case 0:
				return []string{"csv"}, cobra.ShellCompDirectiveFilterFileExt
			case 1:
				return onlySheets()
			}
			return []string{"note="}, cobra.ShellCompDirectiveNoFileComp | cobra.ShellCompDirectiveNoSpace
		},
		RunE: func(cmd *cobra.Command, args []string) error { return passesAdd(cmd, args[0], args[1], args[2:], o) },
	}
	cmd.Flags().StringArrayVar(&o.set, "set", nil, "compute with `name=quantity`, the value of this pass")
	cmd.Flags().StringVar(&o.align, "align", "", "align the clocks by this `channel`")
	cmd.Flags().StringVar(&o.zero, "zero", "", "the log's `seconds` at which the pass begins")
	cmd.Flags().IntVar(&o.pass, "pass", 1, "which pass of the log, a `number` from 1")
	cmd.Flags().StringVar(&o.log, "log", "", "a logger's `file` to take splits from")
	cmd.Flags().StringArrayVar(&o.show, "show", nil, "the results to keep: `names`, separated by commas")
	cmd.Flags().StringArrayVar(&o.column, "column", nil, "begin a column of this `name`, which is nearly that of another")
	for _, flag := range []string{"set", "align", "zero", "pass", "show", "column"} {
		mustComplete(cmd, flag, cobra.NoFileCompletions)
	}
	return cmd
}

// entry is one new line: values in the order of the columns of a new book.
type entry struct {
	head   []string
	values map[string]string
	book   []string // the columns that the book has; nil for a new one
}

func (e *entry) put(name, value string) error {
	if name == passbook.Number || name == passbook.Check {
		return fmt.Errorf("%s is counted by the book itself", name)
	}
	if _, twice := e.values[name]; twice {
		return fmt.Errorf("%s is given twice: remove one", name)
	}
	e.head = append(e.head, name)
	e.values[name] = value
	return nil
}

func passesAdd(cmd *cobra.Command, book, path string, texts []string, o passesAddOptions) error {
	s, err := load(cmd, path)
	if err != nil {
		return err
	}
	if err := set(cmd, s, o.set); err != nil {
		return err
	}
	parts, err := s.Parts()
	if err != nil {
		return err
	}
	hash := sheet.Hash(parts)
	e := newEntry(book)
	pairs := [][2]string{{"at", time.Now().Format(time.RFC3339)}, {"sheet", filepath.Base(path)}, {"sheet sha256", hash}}
	if set := export.SetText(s); set != "" {
		pairs = append(pairs, [2]string{"set", set})
	}
	err = e.putAll(pairs)
	if err == nil {
		err = e.results(cmd, s, words(o.show))
	}
	if err == nil && o.log != "" {
		err = e.splits(cmd, s, o)
	}
	if err == nil {
		err = e.said(texts, o.column)
	}
	if err != nil {
		return err
	}
	files := make([]passbook.File, len(parts))
	for i, p := range parts {
		files[i] = passbook.File(p)
	}
	if err := passbook.Keep(book, hash, files); err != nil {
		return fmt.Errorf("the worksheet could not be kept beside the book: %w", err)
	}
	added, err := passbook.Add(book, e.head, e.values)
	if err != nil {
		return err
	}
	return reportAdded(cmd, book, hash, added)
}

// newEntry returns an empty line for the book at path. If the book cannot be
// read, it is new, or Add returns the error.
func newEntry(path string) *entry {
	e := &entry{values: map[string]string{}}
	if b, err := passbook.Read(path); err == nil {
		e.book = b.Head
	}
	return e
}

func (e *entry) putAll(pairs [][2]string) error {
	for _, p := range pairs {
		if err := e.put(p[0], p[1]); err != nil {
			return err
		}
	}
	return nil
}

// results adds results of the sheet.
func (e *entry) results(cmd *cobra.Command, s *sheet.Sheet, names []string) error {
	if len(names) == 0 {
		return nil
	}
	r, err := s.Compute()
	if err != nil {
		return err
	}
	for _, name := range names {
		p, d := s.Place(name)
		if d != nil {
			return refuse(cmd, *d)
		}
		if p.Row == sheet.Whole {
			return fmt.Errorf("%s is a column: name the row, as in %s[1]", name, name)
		}
		if err := e.put(e.result(s, p, r.At(p))); err != nil {
			return err
		}
	}
	return nil
}

// result returns the head and the text of a result: in the unit of the book's
// column if there is one, else in its shown unit.
func (e *entry) result(s *sheet.Sheet, p sheet.Place, v sheet.Value) (head, text string) {
	q := p.Quantity()
	head, u := e.column(s, p)
	switch {
	case v.IsFault():
		return head, "fault"
	case u.Symbol == q.Unit.Symbol:
		text, _ = s.Shown(q, v.V)
	default:
		text = unit.FormatNumber(u.Clean(v.V), stepIn(u, q))
	}
	return head, text
}

// column returns the head of the book's column for p, and its unit.
func (e *entry) column(s *sheet.Sheet, p sheet.Place) (head string, u unit.Unit) {
	q := p.Quantity()
	if q.Type.Form != check.Number {
		return p.Name(), q.Unit
	}
	head = p.Name()
	if q.Unit.Symbol != "" && q.Unit.Symbol != "1" {
		head += " " + q.Unit.Symbol
	}
	if slices.Contains(e.book, head) {
		return head, q.Unit
	}
	for _, have := range e.book {
		symbol, ok := strings.CutPrefix(have, p.Name()+" ")
		if !ok {
			continue
		}
		if u, err := s.Model.Units.Parse(symbol); err == nil && unit.Meets(u.Measure, q.Unit.Measure) == "" {
			return have, u
		}
	}
	return head, q.Unit
}

// stepIn returns the step to which q is shown as one of u, a power of ten; 0
// for none.
func stepIn(u unit.Unit, q *check.Quantity) float64 {
	if q.Details == nil || q.To == 0 {
		return 0
	}
	return math.Pow10(int(math.Floor(math.Log10(q.To*q.Unit.Scale/u.Scale) + 1e-9)))
}

// splits adds the hash of a log, and its times and speeds at the marks.
func (e *entry) splits(cmd *cobra.Command, s *sheet.Sheet, o passesAddOptions) error {
	h, err := holdLog(cmd, s, o.log, o.logReading)
	if err != nil {
		return err
	}
	sum, err := hashFile(o.log)
	if err != nil {
		return err
	}
	if err := e.putAll([][2]string{{"log", filepath.Base(o.log)}, {"log sha256", sum}}); err != nil {
		return err
	}
	feet, mph := unit.Unit{Scale: 0.3048}, unit.Unit{Scale: 0.44704}
	for _, one := range h.LogRead.Splits {
		mark := unit.FormatNumber(math.Round(feet.Shown(one.Mark)), 1)
		err := e.putAll([][2]string{
			{"elapsed " + mark + " s", bookNumber(one.Elapsed, 0.001)},
			{"speed " + mark + " mph", bookNumber(mph.Shown(one.Mean), 0.1)},
		})
		if err != nil {
			return err
		}
	}
	return nil
}

// bookNumber writes v, an empty text if there is no value.
func bookNumber(v, step float64) string {
	if v != v || math.IsInf(v, 0) {
		return ""
	}
	return unit.FormatNumber(v, step)
}

// said adds the user's remarks, and a note even if it is empty. A name that is
// similar to that of a column of the book is a typing error, unless it is in
// begun.
func (e *entry) said(texts, begun []string) error {
	for _, text := range texts {
		name, value, ok := strings.Cut(text, "=")
		if name = strings.TrimSpace(name); !ok || name == "" {
			return fmt.Errorf("%q has no = in it: write name=value", text)
		}
		if !slices.Contains(e.book, name) && !slices.Contains(begun, name) {
			if near := didYouMean(name, e.book); near != "" {
				return fmt.Errorf("the book has no column %s%s --column %q begins one", name, near, name)
			}
		}
		if err := e.put(name, value); err != nil {
			return err
		}
	}
	if _, there := e.values["note"]; !there {
		e.head = append(e.head, "note")
	}
	return nil
}

func hashFile(path string) (string, error) {
	f, _, err := disk.Open(path, source.MaxLogBytes)
	if err != nil {
		return "", err
	}
	defer f.Close()
	h := sha256.New()
	if _, err := io.Copy(h, f); err != nil {
		return "", err
	}
	return hex.EncodeToString(h.Sum(nil)), nil
}

func reportAdded(cmd *cobra.Command, book, hash string, added passbook.Added) error {
	w := cmd.OutOrStdout()
	if added.CutOff > 0 {
		fmt.Fprintf(cmd.ErrOrStderr(), "gearleaf: %s:%d: the write of this line was interrupted; it is kept unchanged\n", book, added.CutOff)
	}
	if added.New {
		fmt.Fprintf(w, "began %s\n", book)
	}
	if n := len(added.Columns); n > 0 {
		fmt.Fprintf(w, "new in %s, and blank for earlier passes: %s\n", book, strings.Join(added.Columns, ", "))
	}
	_, err := fmt.Fprintf(w, "pass %d written into %s\nits sheet is kept in %s\n", added.Pass, book, filepath.ToSlash(passbook.Kept(book, hash)))
	return err
}
