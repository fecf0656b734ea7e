package main

import (
	"context"
	"errors"
	"fmt"

	"github.com/spf13/cobra"

	"gearleaf/export"
	"gearleaf/export/serve"
	"gearleaf/sheet/watch"
)

const serveLong = `Show a worksheet's page in a browser on this machine, live: it follows the
worksheet, those that it uses and the files of its tables as they are saved.
While there are errors, the page keeps the last good values and shows the errors
with their places. A change made on the page is written into the worksheet only
when its button is pressed, as by change --write.

The printed address contains a random token; requests without it are refused.
Only this machine can reach the page, unless --addr gives another address; port
0 selects any free port. Ctrl-C stops it.`

const serveExample = `  gearleaf serve bike.leaf
  gearleaf serve bike.leaf --addr 127.0.0.1:8460`

func newServe() *cobra.Command {
	var addr string
	cmd := &cobra.Command{
		Use:               "serve SHEET",
		Short:             "Show a worksheet's page in a browser, and follow the file",
		Long:              serveLong,
		Example:           serveExample,
		Args:              cobra.ExactArgs(1),
		ValidArgsFunction: completeSheet,
		RunE:              func(cmd *cobra.Command, args []string) error { return serveSheet(cmd, args[0], addr) },
	}
	cmd.Flags().StringVar(&addr, "addr", "127.0.0.1:0", "listen at this `address`")
	return cmd
}

func serveSheet(cmd *cobra.Command, path, addr string) error {
	s, list, err := serve.New(path, export.WriteLivePage)
	diagnose(cmd, list)
	if errors.Is(err, serve.ErrNothing) {
		return errRefused
	}
	if err != nil {
		return err
	}
	l, url, err := s.Listen(addr)
	if err != nil {
		return err
	}
	ctx, release := interruptible()
	defer release()
	w, err := watch.New(ctx)
	if err != nil {
		_ = l.Close()
		return fmt.Errorf("files cannot be watched here: %w", err)
	}
	if !serve.IsLoopback(addr) {
		fmt.Fprintf(cmd.ErrOrStderr(), "gearleaf: other machines can reach %s: anyone with the address below can read and change the worksheet, and so can anyone who reads the network traffic\n", addr)
	}
	fmt.Fprintf(cmd.OutOrStdout(), "%s is at %s\nCtrl-C ends it\n", path, url)
	if lost(cmd.OutOrStdout()) {
		_ = l.Close()
		return errRefused
	}
	w.Watch(s.Files())
	go follow(ctx, cmd, s, w)
	err = s.Serve(ctx, l)
	release()
	w.Wait()
	return err
}

// follow reads the worksheet again at every save.
func follow(ctx context.Context, cmd *cobra.Command, s *serve.Server, w *watch.Watcher) {
	for {
		select {
		case <-ctx.Done():
			return
		case <-w.Changed():
			list, err := s.Reload()
			diagnose(cmd, list)
			if err != nil {
				fmt.Fprintf(cmd.ErrOrStderr(), "gearleaf: %v; the page keeps the last good values\n", err)
			}
			w.Watch(s.Files())
		}
	}
}
