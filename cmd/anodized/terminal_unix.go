//go:build unix

package main

import (
	"os"

	"golang.org/x/sys/unix"
)

// terminalSize is the size of the terminal of standard output in columns and
// lines; 80 by 24 where it does not tell.
func terminalSize() (width, height int) {
	size, err := unix.IoctlGetWinsize(int(os.Stdout.Fd()), unix.TIOCGWINSZ)
	if err != nil || size.Col == 0 || size.Row == 0 {
		return 80, 24
	}
	return int(size.Col), int(size.Row)
}

// isTerminal asks the file itself: a character device may be no terminal.
func isTerminal(f *os.File) bool {
	_, err := unix.IoctlGetWinsize(int(f.Fd()), unix.TIOCGWINSZ)
	return err == nil
}
