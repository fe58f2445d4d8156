//go:build !unix

package main

// terminalSize is the least size of a picture with its plot.
func terminalSize() (width, height int) { return 80, 24 }
