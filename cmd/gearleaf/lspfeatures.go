package main

import (
	"context"
	"encoding/json"
	"fmt"
	"slices"

	"github.com/creachadair/jrpc2"
	"github.com/creachadair/jrpc2/handler"

	"gearleaf/sheet/diag"
	"gearleaf/sheet/editor"
	"gearleaf/sheet/source"
)

// asked is one request about a document.
type asked struct {
	documentParams
	s    *editorServer
	d    *editor.Document
	path string
}

// request makes a handler of a method of asked. A cancelled request is not
// begun.
func request[T any](s *editorServer, answer func(*asked) (T, error)) jrpc2.Handler {
	return handler.New(func(ctx context.Context, p documentParams) (any, error) {
		if err := ctx.Err(); err != nil {
			return nil, jrpc2.Errorf(requestCancelled, "cancelled")
		}
		path := pathOf(p.TextDocument.URI)
		out, err := answer(&asked{documentParams: p, s: s, d: s.work.Document(path), path: path})
		if err != nil {
			return nil, jrpc2.Errorf(requestFailed, "%v", err)
		}
		if ctx.Err() != nil {
			return nil, jrpc2.Errorf(requestCancelled, "cancelled")
		}
		return out, nil
	})
}

// The protocol's codes for a request that cannot be answered.
const (
	requestCancelled = jrpc2.Code(-32800)
	requestFailed    = jrpc2.Code(-32803)
)

func (a *asked) at() int32 { return editor.OffsetOf(a.d.File, a.Position) }

func (a *asked) rangeOf(s source.Span) editor.Range { return editor.RangeOf(a.d.File, s) }

func (a *asked) hover() (*hoverResult, error) {
	h := a.d.Hover(a.at())
	if h == nil {
		return nil, nil
	}
	return &hoverResult{wireMarkup{"markdown", h.Text}, a.rangeOf(h.Span)}, nil
}

// itemKinds are the protocol's numbers for editor.ItemKind.
var itemKinds = map[editor.ItemKind]int{
	editor.CellItem: 6, editor.ColumnItem: 5, editor.TableItem: 22, editor.FunctionItem: 3, editor.UnitItem: 11,
	editor.WordItem: 14, editor.ValueItem: 12, editor.FileItem: 17, editor.TemplateItem: 15,
}

func (a *asked) completion() (completionList, error) {
	c := a.d.Complete(a.at(), editorTemplates())
	out := completionList{Items: []completionItem{}}
	at := a.rangeOf(c.Span)
	for i, item := range c.Items {
		format := 1
		if item.Snippet {
			format = 2
		}
		out.Items = append(out.Items, completionItem{
			Label: item.Label, Kind: itemKinds[item.Kind], Detail: item.Detail, Documentation: markdownText(item.Text),
			SortText: fmt.Sprintf("%04d", i), Format: format, Edit: wireEdit{at, item.Insert},
		})
	}
	return out, nil
}

func (a *asked) signatureHelp() (*signatureHelp, error) {
	s := a.d.Signature(a.at())
	if s == nil {
		return nil, nil
	}
	one := signatureInformation{Label: s.Usage, Documentation: markdownText(s.Text), Parameters: []parameterInformation{}}
	for _, p := range s.Parameters {
		one.Parameters = append(one.Parameters, parameterInformation{p})
	}
	return &signatureHelp{Signatures: []signatureInformation{one}, ActiveParameter: s.Active}, nil
}

func wireLocations(list []editor.Location) []wireLocation {
	out := []wireLocation{}
	for _, l := range list {
		out = append(out, wireLocation{uriOf(l.Path), editor.RangeOf(l.File, l.Span)})
	}
	return out
}

func (a *asked) definition() ([]wireLocation, error) {
	return wireLocations(a.d.Definition(a.at())), nil
}

func (a *asked) references() ([]wireLocation, error) {
	return wireLocations(a.s.work.References(a.path, a.at(), a.Context.IncludeDeclaration)), nil
}

func (a *asked) highlights() ([]documentHighlight, error) {
	out := []documentHighlight{}
	for _, o := range a.d.Highlights(a.at()) {
		kind := 2
		if o.Declares {
			kind = 3
		}
		out = append(out, documentHighlight{a.rangeOf(o.Span), kind})
	}
	return out, nil
}

func (a *asked) prepareRename() (*prepareResult, error) {
	o, err := a.d.PrepareRename(a.at())
	if err != nil {
		return nil, err
	}
	return &prepareResult{a.rangeOf(o.Span), o.Name}, nil
}

func (a *asked) rename() (*workspaceEdit, error) {
	files, err := a.s.work.Rename(a.path, a.at(), a.NewName)
	if err != nil {
		return nil, err
	}
	edit := wireWorkspaceEdit(files)
	return &edit, nil
}

func wireWorkspaceEdit(files []editor.FileEdits) workspaceEdit {
	out := workspaceEdit{Changes: map[string][]wireEdit{}}
	for _, f := range files {
		out.Changes[uriOf(f.Path)] = wireEdits(f.File, f.Edits)
	}
	return out
}

func wireEdits(file *source.File, edits []diag.Edit) []wireEdit {
	out := []wireEdit{}
	for _, e := range edits {
		out = append(out, wireEdit{editor.RangeOf(file, e.Span), e.New})
	}
	return out
}

// entryKinds are the protocol's numbers for editor.EntryKind.
var entryKinds = map[editor.EntryKind]int{
	editor.SectionEntry: 3, editor.GivenEntry: 14, editor.ComputedEntry: 13, editor.TableEntry: 23, editor.ColumnEntry: 8,
	editor.LimitEntry: 24, editor.FunctionEntry: 12, editor.UnitEntry: 22, editor.UseEntry: 2, editor.ChartEntry: 19,
}

func (a *asked) symbols() ([]documentSymbol, error) { return a.wireSymbols(a.d.Outline()), nil }

func (a *asked) wireSymbols(list []editor.Entry) []documentSymbol {
	out := []documentSymbol{}
	for _, e := range list {
		out = append(out, documentSymbol{
			Name: e.Name, Detail: e.Detail, Kind: entryKinds[e.Kind],
			Range: a.rangeOf(e.Span), SelectionRange: a.rangeOf(e.Selection), Children: a.wireSymbols(e.Children),
		})
	}
	return out
}

func (a *asked) folds() ([]foldingRange, error) {
	out := []foldingRange{}
	for _, f := range a.d.Folds() {
		out = append(out, foldingRange{f.Start, f.End, "region"})
	}
	return out, nil
}

func (a *asked) format() ([]wireEdit, error) { return wireEdits(a.d.File, a.d.Format()), nil }

func (a *asked) formatRange() ([]wireEdit, error) {
	return wireEdits(a.d.File, a.d.FormatLines(a.Range.Start.Line, a.Range.End.Line)), nil
}

func (a *asked) formatTyped() ([]wireEdit, error) {
	return wireEdits(a.d.File, a.d.FormatTyped(a.Position.Line-1)), nil
}

func (a *asked) actions() ([]codeAction, error) {
	out := []codeAction{}
	for _, one := range a.d.Actions(editor.SpanOf(a.d.File, a.Range)) {
		c := codeAction{Title: one.Title, Kind: "refactor.rewrite", Edit: wireWorkspaceEdit(one.Files), IsPreferred: one.Preferred}
		if one.Cures != nil {
			c.Kind, c.Diagnostics = "quickfix", []wireDiagnostic{wireDiagnosticOf(a.d.File, *one.Cures)}
		}
		if len(a.Context.Only) == 0 || slices.ContainsFunc(a.Context.Only, func(k string) bool { return k == c.Kind || k == "refactor" && c.Kind != "quickfix" }) {
			out = append(out, c)
		}
	}
	return out, nil
}

func (a *asked) lenses() ([]codeLens, error) {
	out := []codeLens{}
	for _, l := range a.d.Lenses() {
		data, err := json.Marshal(lensData{a.TextDocument.URI, l.Name})
		if err != nil {
			return nil, err
		}
		out = append(out, codeLens{Range: a.rangeOf(source.Span{Start: l.Offset, End: l.Offset}), Data: data})
	}
	return out, nil
}

// resolveLens describes the dependents of a given when its line is on the
// screen.
func (s *editorServer) resolveLens(_ context.Context, l codeLens) (codeLens, error) {
	var data lensData
	if err := json.Unmarshal(l.Data, &data); err != nil {
		return l, jrpc2.Errorf(requestFailed, "%v", err)
	}
	l.Command = &wireCommand{Title: s.work.Document(pathOf(data.URI)).Reaches(data.Name)}
	return l, nil
}

func (a *asked) selections() ([]*selectionRange, error) {
	out := []*selectionRange{}
	for _, p := range a.Positions {
		var top *selectionRange
		for _, span := range slices.Backward(a.d.Selection(editor.OffsetOf(a.d.File, p))) {
			top = &selectionRange{Range: a.rangeOf(span), Parent: top}
		}
		out = append(out, top)
	}
	return out, nil
}

func (a *asked) links() ([]documentLink, error) {
	out := []documentLink{}
	for _, l := range a.d.Links() {
		out = append(out, documentLink{a.rangeOf(l.Span), uriOf(l.Path)})
	}
	return out, nil
}

func (a *asked) hints() ([]inlayHint, error) {
	out := []inlayHint{}
	for _, n := range a.d.Notes() {
		at := editor.PositionOf(a.d.File, n.Offset)
		if a.Range.End.Line > 0 && (at.Line < a.Range.Start.Line || at.Line > a.Range.End.Line) {
			continue
		}
		out = append(out, inlayHint{Position: at, Label: n.Text, Tooltip: n.Tooltip, PaddingLeft: true})
	}
	return out, nil
}

// tokens encodes the coloured pieces for the protocol: each by its distance
// from the one before.
func (a *asked) tokens() (semanticTokens, error) {
	out := semanticTokens{Data: []int{}}
	line, character := 0, 0
	for _, t := range a.d.Tokens() {
		r := a.rangeOf(t.Span)
		if r.Start.Line != line {
			line, character, out.Data = r.Start.Line, 0, append(out.Data, r.Start.Line-line)
		} else {
			out.Data = append(out.Data, 0)
		}
		out.Data = append(out.Data, r.Start.Character-character, r.End.Character-r.Start.Character, t.Type, t.Modifiers)
		character = r.Start.Character
	}
	return out, nil
}
