//go:build !linux

package speed

import "time"

var began = time.Now()

// threadTime returns the time on the wall where there is no better clock.
func threadTime() time.Duration { return time.Since(began) }

// processTime returns the time on the wall.
func processTime() time.Duration { return time.Since(began) }
