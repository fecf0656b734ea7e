//go:build !race

package main

// racing says that the race detector watches.
const racing = false
