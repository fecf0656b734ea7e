//go:build race

package main

// racing says that the race detector watches, which takes many times the
// memory and the time.
const racing = true
