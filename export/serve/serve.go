// Package serve shows a worksheet's page in browsers on this machine and
// follows the worksheet as it is saved.
//
// All paths begin with a random token, and the server answers only requests
// that name it as their host and do not come from another page. It writes a
// change into the worksheet only at the request of a page, by the rules of
// `gearleaf change --write`.
package serve

import (
	"bytes"
	"context"
	"crypto/rand"
	"crypto/sha256"
	"crypto/subtle"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"net"
	"net/http"
	"os"
	"slices"
	"strings"
	"sync"
	"time"

	"gearleaf/sheet"
	"gearleaf/sheet/diag"
)

// Server serves one worksheet. Its methods may be called from any goroutine.
type Server struct {
	// Path is the worksheet, as given.
	Path string
	// Page writes the page of a computed sheet.
	Page func(out io.Writer, r *sheet.Result) error

	token string
	hosts []string // that requests may name

	reading sync.Mutex // held while the worksheet is read and computed
	mu      sync.Mutex // of the fields below
	page    []byte     // the last good one
	sheet   *sheet.Sheet
	files   []string // that the last reading read or missed
	state   state
	clients map[chan state]bool
}

// state is sent to browsers: the version of the last good page, and the present
// errors of the worksheet.
type state struct {
	Version string   `json:"version"`
	Errors  []string `json:"errors"`
}

// Bounds of browsers' requests.
const (
	maxClients = 64      // that follow at a time
	maxBody    = 1 << 20 // bytes of a request
)

// New loads a worksheet and returns a Server for it; the error says that there
// is nothing to show.
func New(path string, page func(out io.Writer, r *sheet.Result) error) (*Server, diag.List, error) {
	s := &Server{Path: path, Page: page, token: rand.Text(), clients: map[chan state]bool{}}
	list, err := s.Reload()
	return s, list, err
}

// Reload reads the worksheet again and notifies every browser. If it cannot be
// computed, the last good page stays, and the browsers receive the reason; the
// error is the same. Readings wait for each other, so the last one has the
// newest text.
func (s *Server) Reload() (diag.List, error) {
	s.reading.Lock()
	defer s.reading.Unlock()
	r := sheet.Read(sheet.Input{Path: s.Path})
	var page []byte
	err, lines := error(ErrNothing), errorLines(r.List)
	if !r.List.Errors() {
		if page, err = s.made(r.Sheet); err != nil {
			lines = []string{err.Error()}
		}
	}
	s.mu.Lock()
	defer s.mu.Unlock()
	s.files = slices.Concat([]string{s.Path}, r.Read, r.Missed)
	if err != nil {
		s.tell(state{Version: s.state.Version, Errors: lines})
		return r.List, err
	}
	s.sheet, s.page = r.Sheet, page
	s.tell(state{Version: hashOf(page), Errors: []string{}})
	return r.List, nil
}

// ErrNothing says that the worksheet has errors.
var ErrNothing = errors.New("the worksheet has errors")

// made computes a sheet and writes its page.
func (s *Server) made(made *sheet.Sheet) ([]byte, error) {
	r, err := made.Compute()
	if err != nil {
		return nil, err
	}
	var out bytes.Buffer
	err = s.Page(&out, r)
	return out.Bytes(), err
}

// tell sets the state and sends it to every browser; a state that a browser has
// not received yet is replaced. The lock is held.
func (s *Server) tell(now state) {
	s.state = now
	for c := range s.clients {
		select {
		case <-c:
		default:
		}
		c <- now
	}
}

// errorLines returns errors with their places, one per line.
func errorLines(list diag.List) []string {
	var out []string
	for _, d := range list {
		if d.Severity == diag.Error {
			out = append(out, place(d)+d.Message)
		}
	}
	return out
}

// place is where a diagnostic is, in front of its message.
func place(d diag.Diagnostic) string {
	if d.File == nil {
		return ""
	}
	p := d.File.Position(d.Span.Start)
	return fmt.Sprintf("%s:%d:%d: ", d.File.Name, p.Line, p.Column)
}

// Files returns the files of the page, which are to be watched.
func (s *Server) Files() []string {
	s.mu.Lock()
	defer s.mu.Unlock()
	return slices.Clone(s.files)
}

// Listen starts listening at addr and returns the page's address.
func (s *Server) Listen(addr string) (net.Listener, string, error) {
	host, _, err := net.SplitHostPort(addr)
	if err != nil {
		return nil, "", fmt.Errorf("the address %s is not host:port: write it as in 127.0.0.1:8460", addr)
	}
	l, err := net.Listen("tcp", addr)
	if err != nil {
		return nil, "", fmt.Errorf("the address %s cannot be used: %w; 127.0.0.1:0 selects any free port of this machine", addr, cause(err))
	}
	_, port, err := net.SplitHostPort(l.Addr().String())
	if err != nil {
		return nil, "", err
	}
	for _, name := range names(host) {
		s.hosts = append(s.hosts, net.JoinHostPort(name, port))
	}
	return l, "http://" + s.hosts[0] + "/" + s.token + "/", nil
}

// names returns the valid names of a host in requests, the best one first: an
// address without a host means all addresses of this machine.
func names(host string) []string {
	ip := net.ParseIP(host)
	switch {
	case ip != nil && ip.IsLoopback():
		return []string{host, "localhost"}
	case host != "" && (ip == nil || !ip.IsUnspecified()):
		return []string{host}
	}
	var out []string
	if name, err := os.Hostname(); err == nil {
		out = append(out, name)
	}
	addresses, _ := net.InterfaceAddrs()
	for _, a := range addresses {
		if own, ok := a.(*net.IPNet); ok {
			out = append(out, own.IP.String())
		}
	}
	return append(out, "localhost")
}

// IsLoopback reports whether only this machine can reach addr.
func IsLoopback(addr string) bool {
	host, _, err := net.SplitHostPort(addr)
	if err != nil {
		return false
	}
	ip := net.ParseIP(host)
	return host == "localhost" || ip != nil && ip.IsLoopback()
}

// cause is the system's error of a failed network call.
func cause(err error) error {
	var failed *net.OpError
	if errors.As(err, &failed) {
		return failed.Err
	}
	return err
}

// Serve answers requests until ctx ends.
func (s *Server) Serve(ctx context.Context, l net.Listener) error {
	h := &http.Server{
		Handler: s, ReadHeaderTimeout: 10 * time.Second, ReadTimeout: time.Minute, MaxHeaderBytes: 1 << 16,
		BaseContext: func(net.Listener) context.Context { return ctx },
	}
	done := make(chan error, 1)
	go func() { done <- h.Serve(l) }()
	select {
	case err := <-done:
		return err
	case <-ctx.Done():
	}
	soon, cancel := context.WithTimeout(context.WithoutCancel(ctx), 2*time.Second)
	defer cancel()
	err := h.Shutdown(soon)
	<-done
	return err
}

// ServeHTTP answers one request.
func (s *Server) ServeHTTP(w http.ResponseWriter, r *http.Request) {
	head := w.Header()
	head.Set("X-Content-Type-Options", "nosniff")
	head.Set("Referrer-Policy", "no-referrer")
	head.Set("Cross-Origin-Resource-Policy", "same-origin")
	head.Set("X-Frame-Options", "DENY")
	head.Set("Cache-Control", "no-store")
	name, ok := s.admitted(w, r)
	if !ok {
		return
	}
	switch {
	case name == "" && r.Method == http.MethodGet:
		s.servePage(w)
	case name == "events" && r.Method == http.MethodGet:
		s.serveEvents(w, r)
	case name == "write" && r.Method == http.MethodPost:
		s.serveWrite(w, r)
	default:
		http.Error(w, "there is nothing here", http.StatusNotFound)
	}
}

// admitted returns the path of a request below the token; it answers a request
// that is refused.
func (s *Server) admitted(w http.ResponseWriter, r *http.Request) (name string, ok bool) {
	host := false
	for _, h := range s.hosts {
		host = host || r.Host == h
	}
	if !host {
		http.Error(w, "the request is for another host", http.StatusForbidden)
		return "", false
	}
	origin := r.Header.Get("Origin")
	if origin != "" && origin != "http://"+r.Host || origin == "" && r.Method != http.MethodGet {
		http.Error(w, "another page asks", http.StatusForbidden)
		return "", false
	}
	token, name, found := strings.Cut(strings.TrimPrefix(r.URL.Path, "/"), "/")
	if !found || subtle.ConstantTimeCompare([]byte(token), []byte(s.token)) != 1 {
		http.Error(w, "the address is not complete: take it from the terminal", http.StatusNotFound)
		return "", false
	}
	return name, true
}

func (s *Server) servePage(w http.ResponseWriter) {
	s.mu.Lock()
	page := s.page
	s.mu.Unlock()
	w.Header().Set("Content-Type", "text/html; charset=utf-8")
	_, _ = w.Write(page)
}

// serveEvents sends a browser the state, now and whenever it changes.
func (s *Server) serveEvents(w http.ResponseWriter, r *http.Request) {
	c, ok := s.follow()
	if !ok {
		http.Error(w, "too many browsers follow this sheet", http.StatusServiceUnavailable)
		return
	}
	defer s.leave(c)
	w.Header().Set("Content-Type", "text/event-stream")
	control := http.NewResponseController(w)
	_ = control.SetReadDeadline(time.Time{})
	for {
		select {
		case <-r.Context().Done():
			return
		case now := <-c:
			text, err := json.Marshal(now)
			if err != nil {
				return
			}
			if _, err := fmt.Fprintf(w, "data: %s\n\n", text); err != nil || control.Flush() != nil {
				return
			}
		}
	}
}

// follow adds a browser, which receives the state at once.
func (s *Server) follow() (chan state, bool) {
	s.mu.Lock()
	defer s.mu.Unlock()
	if len(s.clients) >= maxClients {
		return nil, false
	}
	c := make(chan state, 1)
	c <- s.state
	s.clients[c] = true
	return c, true
}

func (s *Server) leave(c chan state) {
	s.mu.Lock()
	defer s.mu.Unlock()
	delete(s.clients, c)
}

// Clients returns the number of browsers that follow.
func (s *Server) Clients() int {
	s.mu.Lock()
	defer s.mu.Unlock()
	return len(s.clients)
}

// request is a page's request to write changes.
type request struct {
	Version string      `json:"version"` // of the page that asks
	Set     [][2]string `json:"set"`     // name and quantity
}

// answer is the response to it.
type answer struct {
	OK      bool   `json:"ok"`
	Message string `json:"message"`
}

// serveWrite writes changes into the worksheet.
func (s *Server) serveWrite(w http.ResponseWriter, r *http.Request) {
	var q request
	status, out := http.StatusOK, answer{OK: true}
	err := json.NewDecoder(http.MaxBytesReader(w, r.Body, maxBody)).Decode(&q)
	if err == nil {
		out.Message, err = s.write(q)
	}
	if err != nil {
		status, out = http.StatusConflict, answer{Message: err.Error()}
	}
	w.Header().Set("Content-Type", "application/json")
	w.WriteHeader(status)
	_ = json.NewEncoder(w).Encode(out)
	if out.OK {
		_, _ = s.Reload()
	}
}

// write computes and confirms the changes, as every command does, and writes
// them: all or none.
func (s *Server) write(q request) (string, error) {
	s.mu.Lock()
	defer s.mu.Unlock()
	switch {
	case len(s.state.Errors) > 0:
		return "", errors.New("the worksheet has errors now: nothing was written")
	case q.Version != s.state.Version:
		return "", errors.New("the worksheet has changed since this page was loaded: nothing was written")
	case len(q.Set) == 0:
		return "", errors.New("nothing was changed")
	}
	settings := make([]sheet.Setting, len(q.Set))
	for i, pair := range q.Set {
		set, d := s.sheet.ParseSetting(pair[0] + "=" + pair[1])
		if d != nil {
			return "", fmt.Errorf("%s: nothing was written", d.Message)
		}
		settings[i] = set
	}
	changed, err := s.sheet.Change(settings)
	if err != nil {
		return "", err
	}
	if err := s.sheet.Write(changed.Settings); err != nil {
		return "", err
	}
	return "wrote " + s.Path, nil
}

// hashOf names a version of the page.
func hashOf(page []byte) string {
	sum := sha256.Sum256(page)
	return hex.EncodeToString(sum[:])
}
