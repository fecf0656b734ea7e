package main

import (
	"bytes"
	"context"
	"fmt"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"runtime"
	"strings"
	"testing"
	"time"

	"github.com/creachadair/jrpc2"
	"github.com/creachadair/jrpc2/channel"

	"gearleaf/sheet/outside"
)

// program returns a path at which the program can be started from outside: the
// test's own binary, which is the program where it is called so.
func program(t *testing.T) string {
	t.Helper()
	self, err := os.Executable()
	if err != nil {
		t.Fatal(err)
	}
	path := filepath.Join(t.TempDir(), "gearleaf")
	if runtime.GOOS == "windows" {
		path += ".exe"
	}
	if err := os.Symlink(self, path); err != nil {
		t.Fatal(err)
	}
	return path
}

// TestClientFromNPM asks for every feature with the client library that VS Code
// uses.
func TestClientFromNPM(t *testing.T) {
	if out, err := exec.Command("node", "-e", `require("vscode-languageserver-protocol/node")`).CombinedOutput(); err != nil {
		outside.Missing(t, "vscode-languageserver-protocol (npm; NODE_PATH says where) is not installed: "+strings.SplitN(string(out), "\n", 2)[0])
	}
	ctx, stop := context.WithTimeout(t.Context(), 2*time.Minute)
	defer stop()
	out, err := exec.CommandContext(ctx, "node", "testdata/lsp/client.js", program(t)).CombinedOutput()
	if err != nil {
		t.Fatalf("%v\n%s", err, out)
	}
	if n := strings.Count(string(out), "\nok ") + 1; n < 17 {
		t.Errorf("only %d features were asked for:\n%s", n, out)
	}
}

// TestNeovim drives a real editor without a screen: errors, an explanation, a
// name changed in two files.
func TestNeovim(t *testing.T) {
	if _, err := exec.LookPath("nvim"); err != nil {
		outside.Missing(t, "Neovim is not installed")
	}
	dir := t.TempDir()
	for name, text := range map[string]string{
		"bike.leaf": "front : 17 teeth\nrear : 41 teeth\nratio = rear / front \"Final drive\"\n",
		"day.leaf":  "use \"bike.leaf\"\nrear : 42 teeth\nbad = ratio + 3 mm\nsound = ratio * 2\n",
	} {
		if err := os.WriteFile(filepath.Join(dir, name), []byte(text), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	script, err := filepath.Abs("testdata/lsp/neovim.lua")
	if err != nil {
		t.Fatal(err)
	}
	files, err := filepath.Abs("editors/vim")
	if err != nil {
		t.Fatal(err)
	}
	ctx, stop := context.WithTimeout(t.Context(), time.Minute)
	defer stop()
	cmd := exec.CommandContext(ctx, "nvim", "--headless", "--clean", "--cmd", "set rtp^="+files, "-c", "luafile "+script, filepath.Join(dir, "day.leaf"))
	cmd.Dir = dir
	cmd.Env = append(os.Environ(), "PATH="+filepath.Dir(program(t))+string(os.PathListSeparator)+os.Getenv("PATH"), "HOME="+dir, "XDG_CACHE_HOME="+dir, "XDG_STATE_HOME="+dir)
	out, err := cmd.CombinedOutput()
	if err != nil || !bytes.Contains(out, []byte("all is well")) {
		t.Fatalf("%v\n%s", err, out)
	}
}

// TestServerLeavesNothingRunning opens, edits and leaves; then no goroutine of
// the server is left.
func TestServerLeavesNothingRunning(t *testing.T) {
	before := runtime.NumGoroutine()
	for range 3 {
		clientRead, serverWrite := io.Pipe()
		serverRead, clientWrite := io.Pipe()
		ended := make(chan error, 1)
		go func() {
			ended <- serveEditor(serverRead, serverWrite)
			serverWrite.Close()
		}()
		client := jrpc2.NewClient(channel.LSP(clientRead, clientWrite), nil)
		path := filepath.Join(t.TempDir(), "a.leaf")
		must := func(err error) {
			t.Helper()
			if err != nil {
				t.Fatal(err)
			}
		}
		ctx := t.Context()
		_, err := client.Call(ctx, "initialize", map[string]any{"capabilities": map[string]any{}})
		must(err)
		must(client.Notify(ctx, "textDocument/didOpen", openParams{wireDocument{URI: uriOf(path), Version: 1, Text: "a : 1\nb = a * 2\n"}}))
		for i := range 20 {
			must(client.Notify(ctx, "textDocument/didChange", map[string]any{
				"textDocument": map[string]any{"uri": uriOf(path), "version": i + 2}, "contentChanges": []any{map[string]any{"text": fmt.Sprintf("a : %d\nb = a * 2\n", i)}},
			}))
		}
		var hints []inlayHint
		must(client.CallResult(ctx, "textDocument/inlayHint", map[string]any{"textDocument": map[string]any{"uri": uriOf(path)}}, &hints))
		if len(hints) != 1 || !strings.HasSuffix(hints[0].Label, " 38") {
			t.Errorf("values are %v", hints)
		}
		_, err = client.Call(ctx, "shutdown", nil)
		must(err)
		must(client.Notify(ctx, "exit", nil))
		must(<-ended)
		client.Close()
		clientRead.Close()
		serverRead.Close()
	}
	for end := time.Now().Add(5 * time.Second); runtime.NumGoroutine() > before; {
		if time.Now().After(end) {
			stacks := make([]byte, 1<<20)
			t.Fatalf("%d goroutines before, %d after:\n%s", before, runtime.NumGoroutine(), stacks[:runtime.Stack(stacks, true)])
		}
		time.Sleep(10 * time.Millisecond)
	}
}

// TestEveryRequestIsAnswered sends everything at once, the exit included: each
// request has its answer before the server ends.
func TestEveryRequestIsAnswered(t *testing.T) {
	var in strings.Builder
	for _, message := range []string{
		`{"jsonrpc":"2.0","id":1,"method":"initialize","params":{"capabilities":{}}}`,
		`{"jsonrpc":"2.0","id":2,"method":"shutdown"}`,
		`{"jsonrpc":"2.0","method":"exit"}`,
	} {
		fmt.Fprintf(&in, "Content-Length: %d\r\n\r\n%s", len(message), message)
	}
	for range 200 {
		var out bytes.Buffer
		if err := serveEditor(strings.NewReader(in.String()), &out); err != nil {
			t.Fatal(err)
		}
		for _, id := range []string{`"id":1`, `"id":2`} {
			if !strings.Contains(out.String(), id) {
				t.Fatalf("the request with %s has no answer:\n%s", id, out.String())
			}
		}
	}
}
