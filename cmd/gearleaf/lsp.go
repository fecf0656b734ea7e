package main

import (
	"bytes"
	"embed"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"sync/atomic"
	"time"

	"github.com/creachadair/jrpc2"
	"github.com/creachadair/jrpc2/channel"
	"github.com/spf13/cobra"

	"gearleaf/sheet/disk"
	"gearleaf/sheet/editor"
	"gearleaf/templates"
)

const lspLong = `Serve a text editor over standard input and output, by the Language Server
Protocol 3.17. The editor starts this command; nobody types it. While a
worksheet is edited, every line shows its value and unit, errors appear at their
place, and names are completed, explained and renamed.

Values appear at once from one evaluator, marked "=?", then "=" once the second
one agrees. In a worksheet with errors, lines that do not depend on one keep
their values; the others name the error and show the last good value as old.

--files writes the files for editors into a folder: vscode, an extension for VS
Code, and vim, for Vim and Neovim. The manual says where they go.`

const lspExample = `  gearleaf lsp                  # the command that an editor starts
  gearleaf lsp --files editors  # the files for VS Code, Vim and Neovim`

func newLSP() *cobra.Command {
	files := ""
	cmd := &cobra.Command{
		Use:               "lsp",
		Short:             "Serve a text editor: values, errors and completion while typing",
		Long:              lspLong,
		Example:           lspExample,
		Args:              cobra.NoArgs,
		ValidArgsFunction: cobra.NoFileCompletions,
		RunE: func(cmd *cobra.Command, _ []string) error {
			if files != "" {
				return writeEditorFiles(cmd.OutOrStdout(), files)
			}
			return serveEditor(cmd.InOrStdin(), data(cmd.OutOrStdout()))
		},
	}
	cmd.Flags().StringVar(&files, "files", "", "write the files for editors into this `folder` and end")
	mustComplete(cmd, "files", func(*cobra.Command, []string, string) ([]string, cobra.ShellCompDirective) {
		return nil, cobra.ShellCompDirectiveFilterDirs
	})
	return cmd
}

// editorFiles are the files for editors.
//
//go:embed editors
var editorFiles embed.FS

// writeEditorFiles writes them below a folder, each whole or not at all. An
// existing file is replaced only if it is one of these files.
func writeEditorFiles(out io.Writer, folder string) error {
	return fs.WalkDir(editorFiles, "editors", func(name string, e fs.DirEntry, err error) error {
		if err != nil {
			return err
		}
		to := filepath.Join(folder, filepath.FromSlash(strings.TrimPrefix(name, "editors")))
		if e.IsDir() {
			return os.MkdirAll(to, 0o755)
		}
		text, err := editorFiles.ReadFile(name)
		if err != nil {
			return err
		}
		if err := disk.Write(to, func(w io.Writer) error { _, err := w.Write(text); return err }); err != nil {
			return err
		}
		_, err = fmt.Fprintf(out, "wrote %s\n", to)
		return err
	})
}

// serveEditor serves one editor until it says exit or ends its output.
func serveEditor(in io.Reader, out io.Writer) error {
	s := newEditorServer()
	s.rpc = jrpc2.NewServer(s.methods(), &jrpc2.ServerOptions{AllowPush: true, DisableBuiltin: true})
	asked := new(requests)
	s.rpc.Start(editorChannel{channel.LSP(newFrames(&patient{in, s.left, asked}), nopCloser{out}), asked})
	done := make(chan struct{})
	go func() {
		defer close(done)
		s.publish()
	}()
	ended := make(chan error, 1)
	go func() { ended <- s.rpc.WaitStatus().Err }()
	err := error(nil)
	select {
	case err = <-ended:
	case <-s.left: // its end of the connection may stay open
		asked.settle()
	}
	s.end()
	<-done
	switch {
	case err != nil && !errors.Is(err, io.EOF):
		return fmt.Errorf("the editor's connection: %w", err)
	case !s.down():
		return errors.New("the editor closed the connection without a shutdown request")
	}
	return nil
}

// requests counts the unanswered requests.
type requests struct{ open atomic.Int64 }

// settle waits until every request is answered, for a limited time.
func (r *requests) settle() {
	for end := time.Now().Add(patience); r.open.Load() > 0 && time.Now().Before(end); {
		time.Sleep(time.Millisecond)
	}
}

// count adds n for a message that is a request, or an answer.
func (r *requests) count(message []byte, request bool, n int64) {
	var m struct {
		ID     json.RawMessage
		Method string
	}
	if json.Unmarshal(message, &m) == nil && len(m.ID) > 0 && (m.Method != "") == request {
		r.open.Add(n)
	}
}

// editorChannel carries messages to and from an editor.
type editorChannel struct {
	channel.Channel
	asked *requests
}

// Recv receives one message.
func (c editorChannel) Recv() ([]byte, error) {
	message, err := c.Channel.Recv()
	c.asked.count(message, true, 1)
	return message, err
}

// Send sends one message. The library answers a request that is cancelled
// before it begins with its own code; editors expect another one.
func (c editorChannel) Send(message []byte) error {
	own := fmt.Appendf(nil, `"code":%d`, jrpc2.Cancelled)
	message = bytes.Replace(message, own, fmt.Appendf(nil, `"code":%d`, requestCancelled), 1)
	defer c.asked.count(message, false, -1)
	return c.Channel.Send(message)
}

// patience is the time that requests may take after the editor has closed its
// end of the connection.
const patience = time.Second

// patient reads an editor's messages. It delays the end of input until the
// editor has said exit and every request is answered, because the end stops the
// server during its answers.
type patient struct {
	io.Reader
	left  chan struct{}
	asked *requests
}

// Read reads into b.
func (p *patient) Read(b []byte) (int, error) {
	n, err := p.Reader.Read(b)
	if n == 0 && err != nil {
		select {
		case <-p.left:
			p.asked.settle()
		case <-time.After(patience):
		}
	}
	return n, err
}

// nopCloser keeps standard output open, which this command must not close.
type nopCloser struct{ io.Writer }

func (nopCloser) Close() error { return nil }

// editorTemplates are the ready worksheets for an empty document.
func editorTemplates() []editor.Template {
	var out []editor.Template
	for _, t := range templates.List() {
		if len(t.Beside) == 0 {
			out = append(out, editor.Template{Name: t.Name, Title: t.Title, Text: t.Text})
		}
	}
	return out
}
