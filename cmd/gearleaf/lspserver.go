package main

import (
	"context"
	"encoding/json"
	"net/url"
	"path/filepath"
	"runtime"
	"slices"
	"strings"
	"sync"
	"time"

	"github.com/creachadair/jrpc2"
	"github.com/creachadair/jrpc2/handler"

	"gearleaf/sheet/diag"
	"gearleaf/sheet/editor"
	"gearleaf/sheet/source"
	"gearleaf/sheet/watch"
)

// pauseBeforeConfirming is the pause in typing after which the second evaluator
// runs.
const pauseBeforeConfirming = 150 * time.Millisecond

// editorServer serves one editor.
type editorServer struct {
	rpc  *jrpc2.Server
	work *editor.Workspace

	mu        sync.Mutex
	versions  map[string]int              // of the open documents, by path
	published map[string][]string         // by path, the other files about which it published something
	told      map[string]*editor.Document // by path, the reading that was published
	refresh   bool                        // the editor requests values again when asked to
	isDown    bool

	ready chan struct{} // closed when the editor has said shutdown
	left  chan struct{} // closed when the editor has said exit

	stirred chan struct{} // something has changed
	ctx     context.Context
	end     context.CancelFunc
}

func newEditorServer() *editorServer {
	ctx, end := context.WithCancel(context.Background())
	return &editorServer{
		work: editor.NewWorkspace(), versions: map[string]int{}, published: map[string][]string{},
		told: map[string]*editor.Document{}, ready: make(chan struct{}), left: make(chan struct{}),
		stirred: make(chan struct{}, 1), ctx: ctx, end: end,
	}
}

func (s *editorServer) down() bool {
	s.mu.Lock()
	defer s.mu.Unlock()
	return s.isDown
}

// stir makes publish run again.
func (s *editorServer) stir() {
	select {
	case s.stirred <- struct{}{}:
	default:
	}
}

// methods are the methods that an editor can call.
func (s *editorServer) methods() handler.Map {
	nothing := handler.New(func(context.Context) error { return nil })
	return handler.Map{
		"initialize":      handler.New(s.initialize),
		"initialized":     nothing,
		"shutdown":        handler.New(s.shutdown),
		"exit":            handler.New(s.exit),
		"$/cancelRequest": handler.New(s.cancel),
		"$/setTrace":      nothing,

		"workspace/didChangeConfiguration":    nothing,
		"workspace/didChangeWatchedFiles":     handler.New(s.didChangeFiles),
		"workspace/didChangeWorkspaceFolders": nothing,

		"textDocument/didOpen":   handler.New(s.didOpen),
		"textDocument/didChange": handler.New(s.didChange),
		"textDocument/didSave":   nothing,
		"textDocument/didClose":  handler.New(s.didClose),

		"textDocument/hover":               request(s, (*asked).hover),
		"textDocument/completion":          request(s, (*asked).completion),
		"textDocument/signatureHelp":       request(s, (*asked).signatureHelp),
		"textDocument/definition":          request(s, (*asked).definition),
		"textDocument/references":          request(s, (*asked).references),
		"textDocument/documentHighlight":   request(s, (*asked).highlights),
		"textDocument/prepareRename":       request(s, (*asked).prepareRename),
		"textDocument/rename":              request(s, (*asked).rename),
		"textDocument/documentSymbol":      request(s, (*asked).symbols),
		"textDocument/foldingRange":        request(s, (*asked).folds),
		"textDocument/formatting":          request(s, (*asked).format),
		"textDocument/rangeFormatting":     request(s, (*asked).formatRange),
		"textDocument/onTypeFormatting":    request(s, (*asked).formatTyped),
		"textDocument/codeAction":          request(s, (*asked).actions),
		"textDocument/codeLens":            request(s, (*asked).lenses),
		"codeLens/resolve":                 handler.New(s.resolveLens),
		"textDocument/selectionRange":      request(s, (*asked).selections),
		"textDocument/documentLink":        request(s, (*asked).links),
		"textDocument/inlayHint":           request(s, (*asked).hints),
		"textDocument/semanticTokens/full": request(s, (*asked).tokens),
	}
}

// serverCapabilities are the server's announced capabilities.
var serverCapabilities = map[string]any{
	"positionEncoding": "utf-16",
	"textDocumentSync": map[string]any{"openClose": true, "change": 2, "save": true},
	"hoverProvider":    true,
	"completionProvider": map[string]any{
		"triggerCharacters": []string{".", " ", ":", "\"", "("},
	},
	"signatureHelpProvider":            map[string]any{"triggerCharacters": []string{"(", ","}},
	"definitionProvider":               true,
	"referencesProvider":               true,
	"documentHighlightProvider":        true,
	"renameProvider":                   map[string]any{"prepareProvider": true},
	"documentSymbolProvider":           true,
	"foldingRangeProvider":             true,
	"documentFormattingProvider":       true,
	"documentRangeFormattingProvider":  true,
	"documentOnTypeFormattingProvider": map[string]any{"firstTriggerCharacter": "\n"},
	"codeActionProvider":               map[string]any{"codeActionKinds": []string{"quickfix", "refactor.rewrite"}},
	"codeLensProvider":                 map[string]any{"resolveProvider": true},
	"selectionRangeProvider":           true,
	"documentLinkProvider":             map[string]any{},
	"inlayHintProvider":                true,
	"semanticTokensProvider": map[string]any{
		"legend": map[string]any{"tokenTypes": editor.TokenTypes, "tokenModifiers": editor.TokenModifiers},
		"full":   true,
	},
}

func (s *editorServer) initialize(_ context.Context, p initializeParams) (any, error) {
	s.mu.Lock()
	defer s.mu.Unlock()
	s.refresh = p.Capabilities.Workspace.InlayHint.RefreshSupport
	for _, f := range p.Workspaces {
		s.work.Folders = append(s.work.Folders, pathOf(f.URI))
	}
	if len(p.Workspaces) == 0 && p.RootURI != "" {
		s.work.Folders = append(s.work.Folders, pathOf(p.RootURI))
	}
	return map[string]any{
		"capabilities": serverCapabilities,
		"serverInfo":   map[string]any{"name": "gearleaf", "version": versionWord()},
	}, nil
}

func (s *editorServer) shutdown(context.Context) (any, error) {
	s.mu.Lock()
	defer s.mu.Unlock()
	if !s.isDown {
		s.isDown = true
		close(s.ready)
	}
	return nil, nil
}

func (s *editorServer) exit(context.Context) error {
	select {
	case <-s.ready: // earlier requests may still be running
	case <-time.After(patience):
	}
	s.mu.Lock()
	defer s.mu.Unlock()
	select {
	case <-s.left:
	default:
		close(s.left)
	}
	return nil
}

// cancel ends a request, unless it is already done.
func (s *editorServer) cancel(_ context.Context, p struct {
	ID json.RawMessage `json:"id"`
},
) error {
	s.rpc.CancelRequest(string(p.ID))
	return nil
}

func (s *editorServer) didOpen(_ context.Context, p openParams) error {
	path := pathOf(p.TextDocument.URI)
	s.mu.Lock()
	s.versions[path] = p.TextDocument.Version
	s.mu.Unlock()
	s.work.Set(path, p.TextDocument.Text)
	s.stir()
	return nil
}

func (s *editorServer) didChange(_ context.Context, p changeParams) error {
	path := pathOf(p.TextDocument.URI)
	text, open := s.work.Text(path)
	if !open {
		return nil
	}
	for _, c := range p.ContentChanges {
		if c.Range == nil {
			text = c.Text
			continue
		}
		span := editor.SpanOf(source.New(path, text), *c.Range)
		text = text[:span.Start] + c.Text + text[span.End:]
	}
	s.mu.Lock()
	if p.TextDocument.Version != nil {
		s.versions[path] = *p.TextDocument.Version
	}
	s.mu.Unlock()
	s.work.Set(path, text)
	s.stir()
	return nil
}

func (s *editorServer) didClose(ctx context.Context, p documentParams) error {
	path := pathOf(p.TextDocument.URI)
	s.work.Close(path)
	s.mu.Lock()
	delete(s.versions, path)
	gone := s.published[path]
	delete(s.published, path)
	delete(s.told, path)
	s.mu.Unlock()
	for _, file := range append(gone, path) {
		s.send(ctx, file, nil)
	}
	s.stir()
	return nil
}

func (s *editorServer) didChangeFiles(_ context.Context, p struct {
	Changes []struct {
		URI string `json:"uri"`
	} `json:"changes"`
},
) error {
	for _, c := range p.Changes {
		s.work.Changed(pathOf(c.URI))
	}
	s.stir()
	return nil
}

// publish reads changed worksheets, reports their errors, and runs the second
// evaluator after a pause, until the server ends. Files on the disk that the
// open worksheets read are watched.
func (s *editorServer) publish() {
	w, err := watch.New(s.ctx)
	if err != nil {
		w = watch.Nothing()
	}
	pause := time.NewTimer(0)
	for {
		select {
		case <-s.ctx.Done():
			w.Wait()
			return
		case paths := <-w.Changed():
			for _, p := range paths {
				s.work.Changed(p)
			}
		case <-s.stirred:
		case <-pause.C:
			s.confirm()
			continue
		}
		s.tell()
		w.Watch(s.filesOnDisk())
		pause.Reset(pauseBeforeConfirming)
	}
}

// filesOnDisk returns the files that the open worksheets read or miss and that
// are not open.
func (s *editorServer) filesOnDisk() []string {
	var out []string
	for _, path := range s.work.Open() {
		r := s.work.Document(path).Reading
		for _, p := range slices.Concat(r.Read, r.Missed) {
			if _, open := s.work.Text(p); !open {
				out = append(out, p)
			}
		}
	}
	return out
}

// tell publishes the errors of every worksheet that has to be read again.
func (s *editorServer) tell() {
	moved := false
	for _, path := range s.work.Open() {
		d := s.work.Document(path)
		s.mu.Lock()
		news := s.told[path] != d
		s.told[path] = d
		s.mu.Unlock()
		if news {
			s.tellOne(s.ctx, d)
			moved = true
		}
	}
	if moved {
		s.askAgain()
	}
}

// tellOne sends the errors of a document, and an empty list for files that have
// no more errors.
func (s *editorServer) tellOne(ctx context.Context, d *editor.Document) {
	told := map[string]bool{}
	for _, f := range d.Diagnostics() {
		told[f.Path] = true
		list := make([]wireDiagnostic, 0, len(f.List))
		for _, one := range f.List {
			list = append(list, wireDiagnosticOf(f.File, one))
		}
		if err := d.Disagreement(); err != nil && f.Path == d.Path {
			list = append(list, wireDiagnostic{Severity: wireError, Source: "gearleaf", Code: "disagreement", Message: err.Error()})
		}
		s.send(ctx, f.Path, list)
	}
	s.mu.Lock()
	before := s.published[d.Path]
	s.published[d.Path] = nil
	for path := range told {
		if path != d.Path {
			s.published[d.Path] = append(s.published[d.Path], path)
		}
	}
	s.mu.Unlock()
	for _, path := range before {
		if !told[path] {
			s.send(ctx, path, nil)
		}
	}
}

func (s *editorServer) send(ctx context.Context, path string, list []wireDiagnostic) {
	p := publishParams{URI: uriOf(path), Diagnostics: list}
	if list == nil {
		p.Diagnostics = []wireDiagnostic{}
	}
	s.mu.Lock()
	if v, open := s.versions[path]; open {
		p.Version = &v
	}
	s.mu.Unlock()
	_ = s.rpc.Notify(ctx, "textDocument/publishDiagnostics", p) // an editor that has gone receives nothing
}

// confirm runs the second evaluator until something is typed.
func (s *editorServer) confirm() {
	ctx, stop := context.WithCancel(s.ctx)
	defer stop()
	changed := false
	for _, path := range s.work.Open() {
		d := s.work.Document(path)
		if d.State() != editor.Unconfirmed || len(s.stirred) > 0 {
			continue
		}
		state := d.Confirm(ctx)
		changed = changed || state != editor.Unconfirmed
		if state == editor.Withdrawn {
			s.tellOne(ctx, d)
		}
	}
	if changed {
		s.askAgain()
	}
}

// askAgain makes the editor request values again.
func (s *editorServer) askAgain() {
	s.mu.Lock()
	refresh := s.refresh
	s.mu.Unlock()
	if refresh {
		go func() {
			ctx, stop := context.WithTimeout(s.ctx, 10*time.Second)
			defer stop()
			_, _ = s.rpc.Callback(ctx, "workspace/inlayHint/refresh", nil)
		}()
	}
}

func wireDiagnosticOf(file *source.File, d diag.Diagnostic) wireDiagnostic {
	out := wireDiagnostic{Severity: wireError, Code: string(d.Code), Source: "gearleaf", Message: d.Message}
	if d.Severity == diag.Advice {
		out.Severity = wireWarning
	}
	if d.Help != "" {
		out.Message += "\n" + d.Help
	}
	if d.File != nil {
		out.Range = editor.RangeOf(file, d.Span)
	}
	for _, r := range d.Related {
		if r.File != nil && filepath.IsAbs(r.File.Name) {
			out.Related = append(out.Related, wireRelated{wireLocation{uriOf(r.File.Name), editor.RangeOf(r.File, r.Span)}, r.Message})
		}
	}
	return out
}

// pathOf returns the path that a URI names.
func pathOf(uri string) string {
	u, err := url.Parse(uri)
	if err != nil || u.Scheme != "file" {
		return filepath.Clean(uri)
	}
	path := u.Path
	if runtime.GOOS == "windows" {
		path = strings.TrimPrefix(path, "/")
	}
	return filepath.Clean(filepath.FromSlash(path))
}

// uriOf returns the URI of a path.
func uriOf(path string) string {
	path = filepath.ToSlash(path)
	if !strings.HasPrefix(path, "/") {
		path = "/" + path
	}
	return (&url.URL{Scheme: "file", Path: path}).String()
}
