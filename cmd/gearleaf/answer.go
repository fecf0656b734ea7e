package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"math"
	"os/signal"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"

	"github.com/spf13/cobra"

	"gearleaf/export"
	"gearleaf/sheet"
	"gearleaf/sheet/check"
	"gearleaf/sheet/disk"
	"gearleaf/sheet/unit"
)

// answerOptions are the options of every question.
type answerOptions struct {
	set    []string
	output string
	json   bool
}

// answerFlags adds them to cmd.
func answerFlags(cmd *cobra.Command, o *answerOptions) {
	cmd.Flags().StringArrayVar(&o.set, "set", nil, "compute with `name=quantity`, in this run only")
	cmd.Flags().StringVarP(&o.output, "output", "o", "", outputUsage)
	cmd.Flags().BoolVar(&o.json, "json", false, "print the answer as JSON")
	mustComplete(cmd, "set", completeSettings)
}

// outputUsage describes -o of every question.
const outputUsage = "write the answer to this `file`: .csv .xlsx .json .parquet"

// ask loads the sheet of a question, after a check that the answer can be
// written.
func ask(cmd *cobra.Command, path string, o answerOptions) (*sheet.Sheet, error) {
	if o.output != "" {
		if _, err := export.AnswerKind(o.output); err != nil {
			return nil, err
		}
	}
	s, err := loadFor(cmd, path, o.output)
	if err != nil {
		return nil, err
	}
	return s, set(cmd, s, o.set)
}

// printJSON prints the document of --json.
func printJSON(cmd *cobra.Command, doc any) error {
	return export.WriteDocument(data(cmd.OutOrStdout()), doc)
}

// keepAnswer writes the answer about s to the file of o, if there is one.
func keepAnswer(cmd *cobra.Command, s *sheet.Sheet, o answerOptions, answer export.Answer) error {
	if o.output == "" {
		return nil
	}
	origin, err := provenance(cmd, s, o.output)
	if err != nil {
		return err
	}
	return writeAnswer(cmd, o, answer, origin)
}

// writeAnswer writes an answer to the file of o, if there is one.
func writeAnswer(cmd *cobra.Command, o answerOptions, answer export.Answer, from export.Origin) error {
	if o.output == "" {
		return nil
	}
	kind, err := export.AnswerKind(o.output)
	if err != nil {
		return err
	}
	if err := disk.Write(o.output, func(w io.Writer) error { return answer.Write(w, kind, from) }); err != nil {
		return err
	}
	fmt.Fprintf(o.notices(cmd), "wrote %s\n", o.output)
	return nil
}

// notices is the writer for the names of written files.
func (o answerOptions) notices(cmd *cobra.Command) io.Writer {
	if o.json {
		return cmd.ErrOrStderr() // standard output is JSON
	}
	return cmd.OutOrStdout()
}

// provenance is the metadata of a file about its origin, which only Parquet
// has.
func provenance(cmd *cobra.Command, s *sheet.Sheet, file string) (export.Origin, error) {
	if !strings.HasSuffix(strings.ToLower(file), ".parquet") {
		return export.Origin{}, nil
	}
	parts, err := s.Parts()
	if err != nil {
		return export.Origin{}, err
	}
	return export.Origin{
		Format: "gearleaf " + cmd.Name(), Program: programVersion(),
		Sheet: filepath.Base(s.Path), Title: s.Model.Title, Sum: sheet.Hash(parts), Set: export.SetText(s),
	}, nil
}

// refused prints the error of a question if it is a diagnostic, and returns an
// error marked as printed.
func refused(cmd *cobra.Command, err error) error {
	var r *sheet.Refusal
	if errors.As(err, &r) {
		return refuse(cmd, *r.Diagnostic)
	}
	return err
}

// errInterrupted ends a question that the user stops.
var errInterrupted = errors.New("interrupted; nothing was written")

// interruptible returns a context that ends with Ctrl-C and the other signals
// that end a program.
func interruptible() (context.Context, context.CancelFunc) {
	release := disk.Orderly()
	ctx, stop := context.WithCancel(context.Background())
	if signals := disk.Signals(); len(signals) > 0 {
		ctx, stop = signal.NotifyContext(ctx, signals...)
	}
	return ctx, func() { stop(); release() }
}

// interrupted describes the end of a context.
func interrupted(err error) error {
	if errors.Is(err, context.Canceled) {
		return errInterrupted
	}
	return err
}

// words splits lists of names, as in --show a,b.
func words(lists []string) []string {
	var out []string
	for _, list := range lists {
		for name := range strings.SplitSeq(list, ",") {
			if name = strings.TrimSpace(name); name != "" {
				out = append(out, name)
			}
		}
	}
	return out
}

// completeNameList offers names after the last comma of a list.
func completeNameList(cmd *cobra.Command, args []string, typed string) ([]string, cobra.ShellCompDirective) {
	before := typed[:strings.LastIndex(typed, ",")+1]
	names, directive := completeNames(cmd, args, typed[len(before):])
	for i := range names {
		names[i] = before + names[i]
	}
	return names, directive
}

// completeGivens offers the givens of the sheet on the line.
func completeGivens(_ *cobra.Command, args []string, typed string) ([]string, cobra.ShellCompDirective) {
	s := quietly(args)
	if s == nil {
		return nil, cobra.ShellCompDirectiveNoFileComp
	}
	before := typed[:strings.LastIndex(typed, ",")+1]
	var out []string
	for _, p := range s.Names() {
		q := p.Quantity()
		if !q.Given || !strings.HasPrefix(p.Name(), typed[len(before):]) {
			continue
		}
		word := p.Name()
		if p.Column != nil {
			word += "["
		}
		out = append(out, described(before+word, q.Origin.Label))
	}
	return out, cobra.ShellCompDirectiveNoFileComp | cobra.ShellCompDirectiveNoSpace
}

// heading writes the title of a sheet above an answer.
func (p page) heading(s *sheet.Sheet) {
	r := report{page: p, sheet: s}
	r.title()
	r.settings()
}

// holes writes why values are missing and how often, with causes of one origin
// together.
func (p page) holes(holes map[string]int, of string) {
	for _, g := range groupHoles(export.HolesOf(holes)) {
		text := fmt.Sprintf("%s of %s: %s", grouped(g.Count), of, g.Cause)
		if g.more > 0 {
			text += fmt.Sprintf("; and %s like it", counted(g.more, "cause", "causes"))
		}
		p.finding("FAULT", p.alarm, text)
	}
}

// holeGroup is the most frequent of several causes with one origin, the count
// of all of them, and the number of others.
type holeGroup struct {
	export.HoleCount
	more int
}

// digits match the parts in which causes with one origin differ: rows and
// values.
var digits = regexp.MustCompile(`\[\d+\]|-?\d+(\.\d+)?(e[+-]?\d+)?`)

// groupHoles groups causes that differ only in their digits; the most frequent
// ones come first.
func groupHoles(list []export.HoleCount) []holeGroup {
	var out []holeGroup
	index := map[string]int{}
	for _, h := range list {
		key := digits.ReplaceAllString(h.Cause, "#")
		if at, known := index[key]; known {
			out[at].Count += h.Count
			out[at].more++
			continue
		}
		index[key] = len(out)
		out = append(out, holeGroup{HoleCount: h})
	}
	return out
}

// grouped writes a count with thousands separators.
func grouped(n int) string {
	text := fmt.Sprint(n)
	for at := len(text) - 3; at > 0; at -= 3 {
		text = text[:at] + "," + text[at:]
	}
	return text
}

// counted is n with a noun in the singular or the plural.
func counted(n int, one, many string) string {
	if n == 1 {
		return "1 " + one
	}
	return grouped(n) + " " + many
}

// brokenLimits writes the limits that r breaks or leaves open.
func (p page) brokenLimits(r *sheet.Result) {
	for _, l := range r.Sheet.Model.Limits {
		switch state, _ := r.Limit(l); state {
		case sheet.Broken:
			p.broken("BROKEN", "", r, l)
		case sheet.Waiting:
			p.finding("waits", p.warn, limitText(r, l))
		}
	}
}

// limitLetters gives a letter to every limit that is broken somewhere, for
// tables that are too narrow for its text.
type limitLetters struct {
	letter map[int]string
	limits []*check.Limit
}

// newLetters numbers the limits in use in the order of the sheet.
func newLetters(limits []*check.Limit, used func(l *check.Limit) bool) limitLetters {
	out := limitLetters{letter: map[int]string{}}
	for _, l := range limits {
		if used(l) {
			out.letter[l.Index] = letter(len(out.limits))
			out.limits = append(out.limits, l)
		}
	}
	return out
}

// letter counts a, b, … z, aa, ab …
func letter(n int) string {
	text := string(rune('a' + n%26))
	if n >= 26 {
		return letter(n/26-1) + text
	}
	return text
}

// marks are the letters of limits; those that wait have a question mark.
func (t limitLetters) marks(broken, waiting []int) string {
	var parts []string
	for _, i := range broken {
		parts = append(parts, t.letter[i])
	}
	for _, i := range waiting {
		parts = append(parts, t.letter[i]+"?")
	}
	return strings.Join(parts, " ")
}

// legend lists the limit of each letter; after adds a text to each.
func (p page) legend(t limitLetters, after func(l *check.Limit) string) {
	if len(t.limits) == 0 {
		return
	}
	fmt.Fprintln(p.w)
	for _, l := range t.limits {
		text := "breaks " + l.Text
		if l.Message != "" {
			text += ": " + l.Message
		}
		head := blanks(indent) + p.alarm(t.letter[l.Index]) + "  "
		for _, part := range wrap(text+after(l), p.width-width(head)) {
			fmt.Fprintln(p.w, head+part)
			head = blanks(width(head))
		}
	}
}

// fineNumber writes v in up to eight digits.
func fineNumber(v float64) string {
	short := unit.Significant(v, 8)
	if size := math.Abs(short); size >= 1e15 || size > 0 && size < 1e-6 {
		return strconv.FormatFloat(short, 'e', -1, 64)
	}
	return strconv.FormatFloat(short+0, 'f', -1, 64)
}
