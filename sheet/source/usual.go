//go:build !large

package source

// scale multiplies the bounds on the size of one sheet.
const scale = 1
