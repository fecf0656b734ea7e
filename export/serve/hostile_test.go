package serve_test

import (
	"bufio"
	"fmt"
	"io"
	"net"
	"net/http"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"gearleaf/export"
	"gearleaf/export/serve"
	"gearleaf/sheet/outside"
)

// raw sends text to a server as it is, without the corrections of a client,
// and returns status and body of the answer.
func raw(t *testing.T, url, text string) string {
	t.Helper()
	c, err := net.Dial("tcp", strings.Split(url, "/")[2])
	if err != nil {
		t.Fatal(err)
	}
	defer func() { _ = c.Close() }()
	_ = c.SetDeadline(time.Now().Add(20 * time.Second))
	go func() { _, _ = c.Write([]byte(text)) }() // the answer may come before all is sent
	answer, err := http.ReadResponse(bufio.NewReader(c), nil)
	if err != nil {
		t.Fatalf("%.60q is not answered: %v", text, err)
	}
	defer func() { _ = answer.Body.Close() }()
	body, _ := io.ReadAll(answer.Body)
	return answer.Status + ": " + string(body)
}

// TestHostileRequests sends what no browser sends: paths that lead elsewhere,
// headers without end, bodies larger than a change can be. Each is refused, and
// the page is there as before.
func TestHostileRequests(t *testing.T) {
	_, url, path, end := started(t)
	defer end()
	host := strings.Split(url, "/")[2]
	below := "/" + strings.Split(url, "/")[3] + "/"
	_, page := ask(t, "GET", url, "", nil)
	get := func(path string) string { return "GET " + path + " HTTP/1.1\r\nHost: " + host + "\r\n\r\n" }
	post := func(body string) string {
		return fmt.Sprintf("POST %swrite HTTP/1.1\r\nHost: %s\r\nOrigin: http://%s\r\nContent-Length: %d\r\n\r\n%s", below, host, host, len(body), body)
	}
	for _, c := range []struct{ name, text, want string }{
		{"a path upwards", get(below + "../../etc/passwd"), "404 "},
		{"a path upwards, escaped", get(below + "%2e%2e%2f%2e%2e%2fetc/passwd"), "404 "},
		{"a path with a zero byte", get(below + "%00"), "404 "},
		{"the worksheet", get(below + filepath.Base(path)), "404 "},
		{"a whole address of another host", get("http://elsewhere.example" + below), "403 "},
		{"two hosts", "GET " + below + " HTTP/1.1\r\nHost: " + host + "\r\nHost: elsewhere.example\r\n\r\n", "400 "},
		{"no host", "GET " + below + " HTTP/1.0\r\n\r\n", "403 "},
		{"a header without end", "GET " + below + " HTTP/1.1\r\nHost: " + host + "\r\nX: " + strings.Repeat("x", 1<<20) + "\r\n\r\n", "431 "},
		{"a long path", get(below + strings.Repeat("x", 1<<20)), "431 "},
		{"no request at all", strings.Repeat("\x00", 100) + "\r\n\r\n", "400 "},
		{"a body of eight megabytes", post(`{"version":"` + strings.Repeat("x", 8<<20) + `"}`), "request body too large"},
		{"brackets within brackets", post(strings.Repeat("[", 1<<19)), "exceeded max depth"},
		{"a change without a name", post(`{"version":"","set":[["",""]]}`), "has changed since"},
	} {
		if got := raw(t, url, c.text); !strings.Contains(got, c.want) || strings.HasPrefix(got, "200") {
			t.Errorf("%s: %q, want %s", c.name, got, c.want)
		}
	}
	if status, still := ask(t, "GET", url, "", nil); status != http.StatusOK || still != page {
		t.Errorf("the page is another afterwards: status %d", status)
	}
	if got, err := os.ReadFile(path); err != nil || string(got) != text {
		t.Errorf("the worksheet was changed: %s %v", got, err)
	}
}

// TestFollowersAreBounded opens more connections that follow than are admitted;
// one that ends makes room for the next.
func TestFollowersAreBounded(t *testing.T) {
	s, url, _, end := started(t)
	defer end()
	const most = 64
	var leaves []func()
	for range most {
		next, leave := listen(t, url)
		next()
		leaves = append(leaves, leave)
	}
	host, below, _ := strings.Cut(strings.TrimPrefix(url, "http://"), "/")
	if got := raw(t, url, "GET /"+below+"events HTTP/1.1\r\nHost: "+host+"\r\n\r\n"); !strings.HasPrefix(got, "503 ") {
		t.Errorf("one too many: %s", got)
	}
	if status, _ := ask(t, "GET", url, "", nil); status != http.StatusOK {
		t.Errorf("the page beside them: %d", status)
	}
	leaves[0]()
	for wait := time.Now().Add(10 * time.Second); s.Clients() == most && time.Now().Before(wait); {
		time.Sleep(5 * time.Millisecond)
	}
	next, leave := listen(t, url)
	next()
	for _, l := range append(leaves[1:], leave) {
		l()
	}
}

// TestServedFileBecomesAnother replaces the worksheet by what cannot be read to
// its end: a folder, a giant, a device, a pipe. The page stays, with the error.
func TestServedFileBecomesAnother(t *testing.T) {
	path := filepath.Join(t.TempDir(), "mule.leaf")
	save(t, path, text)
	s, list, err := serve.New(path, export.WriteLivePage)
	if err != nil {
		t.Fatal(list, err)
	}
	for _, c := range []struct {
		name string
		make func() error
	}{
		{"a folder", func() error { return os.Mkdir(path, 0o700) }},
		{"a giant", func() error {
			save(t, path, "")
			return os.Truncate(path, 1<<40)
		}},
		{"a device", func() error { return os.Symlink("/dev/zero", path) }},
		{"a pipe", func() error { return exec.Command("mkfifo", path).Run() }},
	} {
		if err := os.RemoveAll(path); err != nil {
			t.Fatal(err)
		}
		if err := c.make(); err != nil {
			outside.Missing(t, c.name+" cannot be made here: "+err.Error())
		}
		done := make(chan error, 1)
		go func() {
			_, err := s.Reload()
			done <- err
		}()
		select {
		case err := <-done:
			if err == nil {
				t.Errorf("%s is a worksheet", c.name)
			}
		case <-time.After(20 * time.Second):
			t.Fatalf("%s is waited for", c.name)
		}
	}
}
