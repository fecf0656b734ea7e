package whatif

import (
	"context"
	"runtime"
	"sync"
)

// job is a block of scenarios in progress: a worker fills out, then the block
// is passed on in order.
type job[T any] struct {
	from, n int
	out     T
	done    chan struct{}
}

// inBlocks evaluates scenarios from..to in blocks of size. Each worker calls
// start once for an evaluator of its own, which fills what a block gives;
// collect receives every block, in order. Blocks are reused, and their number
// is bounded: a slow collect blocks the workers instead of filling the memory.
// It stops early when ctx is done or collect returns an error.
func inBlocks[T any](ctx context.Context, from, to, size, workers int, start func() func(from, n int, out *T), collect func(from, n int, out *T) error) error {
	if workers <= 0 {
		workers = runtime.GOMAXPROCS(0)
	}
	workers = max(1, min(workers, (to-from+size-1)/size))
	depth := 4 * workers
	free := make(chan *job[T], depth)
	for range depth {
		free <- &job[T]{done: make(chan struct{}, 1)}
	}
	stop, cancel := context.WithCancel(ctx)
	// Each of these channels has the capacity for all jobs, so only waiting for
	// a free one blocks.
	ordered, work := make(chan *job[T], depth), make(chan *job[T], depth)
	go func() {
		defer close(ordered)
		defer close(work)
		for at := from; at < to; at += size {
			select {
			case <-stop.Done():
				return
			case j := <-free:
				j.from, j.n = at, min(size, to-at)
				ordered <- j
				work <- j
			}
		}
	}()
	var wait sync.WaitGroup
	for range workers {
		wait.Go(func() { worker(stop, work, start) })
	}
	err := gather(ctx, ordered, free, collect)
	cancel()
	wait.Wait()
	return err
}

// worker fills jobs; once ctx is done it only passes them on.
func worker[T any](ctx context.Context, work <-chan *job[T], start func() func(from, n int, out *T)) {
	var evaluate func(from, n int, out *T)
	for j := range work {
		if ctx.Err() == nil {
			if evaluate == nil {
				evaluate = start()
			}
			evaluate(j.from, j.n, &j.out)
		}
		j.done <- struct{}{}
	}
}

// gather passes finished jobs on in order.
func gather[T any](ctx context.Context, ordered <-chan *job[T], free chan<- *job[T], collect func(from, n int, out *T) error) error {
	for j := range ordered {
		<-j.done
		if err := ctx.Err(); err != nil {
			return err
		}
		if err := collect(j.from, j.n, &j.out); err != nil {
			return err
		}
		free <- j
	}
	return ctx.Err()
}
