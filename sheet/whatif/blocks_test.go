package whatif

import (
	"context"
	"errors"
	"slices"
	"sync/atomic"
	"testing"
	"time"
)

func TestBlocksComeInOrder(t *testing.T) {
	for _, workers := range []int{1, 2, 8} {
		var got []int
		err := inBlocks(context.Background(), 5, 1000, 7, workers, func() func(from, n int, out *[]int) {
			return func(from, n int, out *[]int) {
				*out = (*out)[:0]
				for i := range n {
					*out = append(*out, from+i)
				}
				if from%2 == 0 {
					time.Sleep(time.Microsecond)
				}
			}
		}, func(from, n int, out *[]int) error {
			if (*out)[0] != from || len(*out) != n {
				t.Errorf("a block of %d from %d holds %v", n, from, *out)
			}
			got = append(got, *out...)
			return nil
		})
		want := make([]int, 995)
		for i := range want {
			want[i] = 5 + i
		}
		if err != nil || !slices.Equal(got, want) {
			t.Errorf("%d workers: %v, %d values", workers, err, len(got))
		}
	}
}

// TestBlocksWait checks that the workers are no more than a few blocks ahead of a
// slow reader.
func TestBlocksWait(t *testing.T) {
	var started atomic.Int64
	most := int64(0)
	read := int64(0)
	err := inBlocks(context.Background(), 0, 1000, 1, 2, func() func(from, n int, out *int) {
		return func(int, int, *int) { started.Add(1) }
	}, func(int, int, *int) error {
		time.Sleep(50 * time.Microsecond)
		most = max(most, started.Load()-read)
		read++
		return nil
	})
	if err != nil || read != 1000 {
		t.Fatal(err, read)
	}
	if most > 8 {
		t.Errorf("%d blocks were made ahead, the room is for 8", most)
	}
}

func TestBlocksStop(t *testing.T) {
	wrong := errors.New("no more room")
	nothing := func() func(from, n int, out *int) { return func(int, int, *int) {} }
	for name, c := range map[string]struct {
		collect func(cancel context.CancelFunc, n int) error
		want    error
	}{
		"an error of the reader": {func(_ context.CancelFunc, n int) error {
			if n == 3 {
				return wrong
			}
			return nil
		}, wrong},
		"the end of the context": {func(cancel context.CancelFunc, n int) error {
			if n == 3 {
				cancel()
			}
			return nil
		}, context.Canceled},
	} {
		ctx, cancel := context.WithCancel(context.Background())
		n := 0
		err := inBlocks(ctx, 0, 1_000_000_000, 256, 3, nothing, func(int, int, *int) error { n++; return c.collect(cancel, n) })
		cancel()
		if !errors.Is(err, c.want) || n != 3 {
			t.Errorf("%s: %v after %d blocks", name, err, n)
		}
	}
	if err := inBlocks(context.Background(), 3, 3, 256, 2, nothing, func(int, int, *int) error { return wrong }); err != nil {
		t.Errorf("nothing to do gives %v", err)
	}
}
