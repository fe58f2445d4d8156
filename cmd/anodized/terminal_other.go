//go:build !unix

package main

import "os"

// terminalSize is the least size of a picture with its plot.
func terminalSize() (width, height int) { return 80, 24 }

// isTerminal is false where nothing tells: plain lines can be read anywhere.
func isTerminal(*os.File) bool { return false }
