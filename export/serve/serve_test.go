package serve_test

import (
	"bufio"
	"context"
	"encoding/json"
	"fmt"
	"io"
	"net"
	"net/http"
	"net/http/httptest"
	"os"
	"os/exec"
	"path/filepath"
	"runtime"
	"strings"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"gearleaf/export"
	"gearleaf/export/serve"
	"gearleaf/sheet"
	"gearleaf/sheet/outside"
	"gearleaf/sheet/watch"
)

const text = `title "Test mule"
rear_sprocket : 41 teeth  choice 40, 41, 42
front_sprocket : 17 teeth
final_ratio = rear_sprocket / front_sprocket  to 0.001
limit final_ratio <= 3  "Geared too short"
`

// started serves the worksheet of text until the test ends.
func started(t *testing.T) (s *serve.Server, url, path string, end func()) {
	t.Helper()
	path = filepath.Join(t.TempDir(), "mule.leaf")
	save(t, path, text)
	s, list, err := serve.New(path, export.WriteLivePage)
	if err != nil {
		t.Fatal(list, err)
	}
	l, url, err := s.Listen("127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	ctx, cancel := context.WithCancel(t.Context())
	done := make(chan error, 1)
	go func() { done <- s.Serve(ctx, l) }()
	end = func() {
		cancel()
		if err := <-done; err != nil {
			t.Errorf("the server ends with %v", err)
		}
	}
	return s, url, path, end
}

func save(t *testing.T, path, text string) {
	t.Helper()
	if err := os.WriteFile(path, []byte(text), 0o600); err != nil {
		t.Fatal(err)
	}
}

// ask sends a request with a header or two and returns status and body.
func ask(t *testing.T, method, url, body string, header map[string]string) (int, string) {
	t.Helper()
	r, err := http.NewRequestWithContext(t.Context(), method, url, strings.NewReader(body))
	if err != nil {
		t.Fatal(err)
	}
	for name, value := range header {
		if name == "Host" {
			r.Host = value
		} else {
			r.Header.Set(name, value)
		}
	}
	answer, err := http.DefaultClient.Do(r)
	if err != nil {
		t.Fatal(err)
	}
	defer func() { _ = answer.Body.Close() }()
	out, err := io.ReadAll(answer.Body)
	if err != nil {
		t.Fatal(err)
	}
	return answer.StatusCode, string(out)
}

// origin is that of a page of the server itself.
func origin(url string) map[string]string {
	return map[string]string{"Origin": strings.Join(strings.Split(url, "/")[:3], "/")}
}

// TestOnlyItsOwnPagesAreAnswered tries other hosts, other pages, other tokens
// and other ways.
func TestOnlyItsOwnPagesAreAnswered(t *testing.T) {
	_, url, path, end := started(t)
	defer end()
	base := strings.Join(strings.Split(url, "/")[:3], "/")
	for _, c := range []struct {
		name, method, url string
		header            map[string]string
		want              int
	}{
		{"the page", "GET", url, nil, 200},
		{"the page, by its own", "GET", url, origin(url), 200},
		{"no token", "GET", base + "/", nil, 404},
		{"half a token", "GET", url[:len(url)-3] + "/", nil, 404},
		{"another host", "GET", url, map[string]string{"Host": "rebound.example:80"}, 403},
		{"another page", "GET", url, map[string]string{"Origin": "https://elsewhere.example"}, 403},
		{"a page without origin", "GET", url, map[string]string{"Origin": "null"}, 403},
		{"writing without an origin", "POST", url + "write", nil, 403},
		{"writing from elsewhere", "POST", url + "write", map[string]string{"Origin": "http://elsewhere.example"}, 403},
		{"another method", "PUT", url, origin(url), 404},
		{"another file", "GET", url + "../../etc/passwd", nil, 404},
	} {
		if got, body := ask(t, c.method, c.url, "{}", c.header); got != c.want {
			t.Errorf("%s: %d %s, want %d", c.name, got, body, c.want)
		}
	}
	if got, err := os.ReadFile(path); err != nil || string(got) != text {
		t.Errorf("the worksheet was changed: %s %v", got, err)
	}
}

// state is what browsers receive.
type state struct {
	Version string   `json:"version"`
	Errors  []string `json:"errors"`
}

// listen follows a server as a browser does.
func listen(t *testing.T, url string) (next func() state, leave func()) {
	t.Helper()
	ctx, cancel := context.WithCancel(t.Context())
	r, err := http.NewRequestWithContext(ctx, http.MethodGet, url+"events", nil)
	if err != nil {
		t.Fatal(err)
	}
	answer, err := http.DefaultClient.Do(r)
	if err != nil {
		t.Fatal(err)
	}
	lines := bufio.NewScanner(answer.Body)
	next = func() state {
		t.Helper()
		var out state
		for lines.Scan() {
			if data, ok := strings.CutPrefix(lines.Text(), "data: "); ok {
				if err := json.Unmarshal([]byte(data), &out); err != nil {
					t.Fatal(err)
				}
				return out
			}
		}
		t.Fatal("nothing more is told")
		return out
	}
	return next, func() { cancel(); _ = answer.Body.Close() }
}

// TestBrokenStatesKeepTheLastGoodPage follows a worksheet through errors.
func TestBrokenStatesKeepTheLastGoodPage(t *testing.T) {
	s, url, path, end := started(t)
	defer end()
	next, leave := listen(t, url)
	defer leave()
	good := next()
	_, page := ask(t, "GET", url, "", nil)
	save(t, path, strings.Replace(text, "rear_sprocket /", "rear_sprokcet /", 1))
	if _, err := s.Reload(); err == nil {
		t.Fatal("an error is told to nobody")
	}
	bad := next()
	if bad.Version != good.Version || len(bad.Errors) == 0 || !strings.Contains(bad.Errors[0], "mule.leaf:4:15: ") {
		t.Errorf("told %+v", bad)
	}
	if _, still := ask(t, "GET", url, "", nil); still != page {
		t.Error("the last good page is gone")
	}
	if got, _ := ask(t, "POST", url+"write", fmt.Sprintf(`{"version":%q,"set":[["rear_sprocket","42"]]}`, good.Version), origin(url)); got != http.StatusConflict {
		t.Errorf("writing into a broken worksheet: %d", got)
	}
	save(t, path, strings.Replace(text, "41 teeth", "42 teeth", 1))
	if _, err := s.Reload(); err != nil {
		t.Fatal(err)
	}
	if mended := next(); mended.Version == good.Version || len(mended.Errors) > 0 {
		t.Errorf("told %+v", mended)
	}
}

// TestWritesOnlyWhatIsAsked writes a change, and refuses one that the sheet
// does not take and one of an older page.
// TestReadingsDoNotOvertakeEachOther has a reading wait for another while the
// worksheet is saved: the page is that of the text as saved last.
func TestReadingsDoNotOvertakeEachOther(t *testing.T) {
	path := filepath.Join(t.TempDir(), "mule.leaf")
	save(t, path, text)
	var calls atomic.Int32
	inside, release := make(chan bool), make(chan bool)
	s, list, err := serve.New(path, func(out io.Writer, r *sheet.Result) error {
		if calls.Add(1) == 2 {
			inside <- true
			<-release
		}
		_, err := fmt.Fprint(out, r.Sheet.Model.Title)
		return err
	})
	if err != nil {
		t.Fatal(list, err)
	}
	var both sync.WaitGroup
	reload := func() {
		if _, err := s.Reload(); err != nil {
			t.Error(err)
		}
	}
	both.Go(reload)
	<-inside
	both.Go(reload)
	time.Sleep(100 * time.Millisecond) // for the second to read, if it does not wait
	save(t, path, strings.Replace(text, "Test mule", "Saved last", 1))
	close(release)
	both.Wait()
	w := httptest.NewRecorder()
	s.ServePage(w)
	if got := w.Body.String(); got != "Saved last" {
		t.Errorf("the page is that of %q", got)
	}
}

func TestWritesOnlyWhatIsAsked(t *testing.T) {
	_, url, path, end := started(t)
	defer end()
	next, leave := listen(t, url)
	defer leave()
	version := next().Version
	post := func(version, name, value string) (int, string) {
		body, _ := json.Marshal(map[string]any{"version": version, "set": [][2]string{{name, value}}})
		return ask(t, "POST", url+"write", string(body), origin(url))
	}
	if got, body := post(version, "rear_sprocket", "43"); got != http.StatusConflict || !strings.Contains(body, "not among them") {
		t.Errorf("no choice: %d %s", got, body)
	}
	if got, body := post(version, "rear_sprocket", "42"); got != http.StatusOK {
		t.Errorf("%d %s", got, body)
	}
	if got, err := os.ReadFile(path); err != nil || string(got) != strings.Replace(text, "41 teeth", "42 teeth", 1) {
		t.Errorf("the worksheet is now %s (%v)", got, err)
	}
	if next().Version == version {
		t.Error("the page is not told to be another")
	}
	if got, body := post(version, "rear_sprocket", "40"); got != http.StatusConflict || !strings.Contains(body, "has changed since") {
		t.Errorf("an older page: %d %s", got, body)
	}
}

// TestManySavesLeaveNothingBehind saves a thousand times while browsers come
// and go.
func TestManySavesLeaveNothingBehind(t *testing.T) {
	saves := 1000
	if testing.Short() {
		saves = 100
	}
	s, url, path, end := started(t)
	before := runtime.NumGoroutine()
	var heap [2]runtime.MemStats
	var leaves []func()
	for i := range saves {
		if i%100 == 0 {
			next, leave := listen(t, url)
			next()
			leaves = append(leaves, leave)
		}
		save(t, path, strings.Replace(text, "41 teeth", fmt.Sprintf("%d teeth", 40+i%3), 1))
		if _, err := s.Reload(); err != nil {
			t.Fatal(err)
		}
		if i == saves/10 || i == saves-1 {
			runtime.GC()
			runtime.ReadMemStats(&heap[min(1, i/(saves/2))])
		}
	}
	if grown := int64(heap[1].HeapAlloc) - int64(heap[0].HeapAlloc); grown > 4<<20 {
		t.Errorf("the heap has grown by %d bytes", grown)
	}
	for _, leave := range leaves {
		leave()
	}
	end()
	http.DefaultClient.CloseIdleConnections()
	for range 100 {
		if s.Clients() == 0 && runtime.NumGoroutine() <= before {
			return
		}
		time.Sleep(20 * time.Millisecond)
	}
	t.Errorf("%d browsers follow, %d goroutines where there were %d", s.Clients(), runtime.NumGoroutine(), before)
}

// TestLoopback recognizes addresses that only this machine can reach.
func TestLoopback(t *testing.T) {
	for addr, want := range map[string]bool{
		"127.0.0.1:0": true, "[::1]:80": true, "localhost:8460": true, "127.8.9.1:1": true,
		":8460": false, "0.0.0.0:80": false, "192.168.1.7:80": false, "[::]:80": false, "example.org:80": false, "nonsense": false,
	} {
		if got := serve.IsLoopback(addr); got != want {
			t.Errorf("%s: %v", addr, got)
		}
	}
}

// TestEndsWithBrowsersOpen ends while a browser follows.
func TestEndsWithBrowsersOpen(t *testing.T) {
	_, url, _, end := started(t)
	next, leave := listen(t, url)
	defer leave()
	next()
	begin := time.Now()
	end()
	if took := time.Since(begin); took > 2*time.Second {
		t.Errorf("ending took %v", took)
	}
	if c, err := net.Dial("tcp", strings.Split(url, "/")[2]); err == nil {
		_ = c.Close()
		t.Error("it still listens")
	}
}

// TestLiveInBrowsers works the page in two browsers at once while its file is
// saved, broken and mended.
func TestLiveInBrowsers(t *testing.T) {
	need := func(what string, err error) {
		if err == nil {
			return
		}
		outside.Missing(t, what+" "+err.Error())
	}
	if testing.Short() {
		t.Skip("a browser takes a while")
	}
	chromium, err := exec.LookPath("chromium")
	need("chromium is not installed:", err)
	need("puppeteer-core (npm; NODE_PATH says where) is not installed:", exec.Command("node", "-e", `require("puppeteer-core")`).Run())
	s, url, path, end := started(t)
	defer end()
	ctx, cancel := context.WithCancel(t.Context())
	defer cancel()
	w, err := watch.New(ctx)
	if err != nil {
		t.Fatal(err)
	}
	w.Watch(s.Files())
	go func() {
		for range w.Changed() {
			_, _ = s.Reload()
			w.Watch(s.Files())
		}
	}()
	cmd := exec.Command("node", "../page/testdata/browser.cjs", "live", url)
	cmd.Env = append(os.Environ(), "CHROMIUM="+chromium, "LEAF="+path)
	if out, err := cmd.CombinedOutput(); err != nil {
		t.Errorf("%v\n%s", err, out)
	}
}
