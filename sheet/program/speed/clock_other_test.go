//go:build !linux

package speed

import "time"

var began = time.Now()

// processTime returns the time on the wall.
func processTime() time.Duration { return time.Since(began) }
