package terminal

import (
	"fmt"
	"strings"
)

// Screen redraws pictures in place. Use it on a terminal only.
type Screen struct {
	below int // lines from the first line of the last frame to the cursor
}

// Frame returns what to write so that a picture takes the place of the last one.
// The cursor stays at its end.
func (s *Screen) Frame(picture string) string {
	var b strings.Builder
	if s.below > 0 {
		fmt.Fprintf(&b, "\x1b[%dA", s.below)
	}
	b.WriteByte('\r')
	b.WriteString(strings.ReplaceAll(picture, "\n", "\x1b[K\n\r"))
	b.WriteString("\x1b[K\x1b[J")
	s.below = strings.Count(picture, "\n")
	return b.String()
}
