package scpi

import (
	"bytes"
	"errors"
	"fmt"
	"time"

	"anodized/hal"
)

// longestLine is the most that one answer line may hold, in bytes.
const longestLine = 4096

// link makes lines of bytes. It holds no opinion about what they say.
type link struct {
	transport Transport
	sendEnd   string
	replyEnd  string
	echo      bool
	gap       time.Duration

	in         [longestLine]byte // received and not yet used: in[start:end]
	start, end int
	afterCR    bool // the last line ended in CR, so one LF may still belong to it
	deadline   time.Time

	out  []byte
	cut  bool      // the last line of ours did not go out whole
	sent time.Time // when the last line went out

	heard uint64 // bytes received so far
}

func (l *link) attach(t Transport) {
	l.transport = t
	l.discard()
	l.cut = false
}

func (l *link) discard() {
	l.start, l.end, l.afterCR = 0, 0, false
}

func (l *link) setDeadline(t time.Time) error {
	l.deadline = t
	if err := l.transport.SetDeadline(t); err != nil {
		return transportError("set the deadline of an exchange", err)
	}
	return nil
}

// pause waits for the rest of the gap that the instrument needs between lines.
func (l *link) pause() {
	if rest := l.gap - time.Since(l.sent); l.gap > 0 && rest > 0 {
		time.Sleep(rest)
	}
}

// send writes one line and, where the instrument echoes, takes the echo back in.
func (l *link) send(line []byte) error {
	l.out = append(append(l.out[:0], line...), l.sendEnd...)
	if err := l.write(l.out); err != nil {
		return fmt.Errorf("send %q: %w", clip(line), err)
	}
	if !l.echo {
		return nil
	}
	back, err := l.readLine(false)
	if err != nil {
		return fmt.Errorf("read the echo of %q: %w", clip(line), err)
	}
	if !bytes.Equal(bytes.TrimRight(back, "\r\n"), line) {
		return fmt.Errorf("sent %q, its echo was %q: %w", clip(line), clip(back), errGarbled)
	}
	return nil
}

func (l *link) write(b []byte) error {
	n, err := l.transport.Write(b)
	l.sent = time.Now()
	if err == nil && n == len(b) {
		l.cut = false
		return nil
	}
	l.cut = l.cut || n > 0
	if err == nil {
		err = errors.New("the line did not go out whole")
	}
	return transportError("write", err)
}

// readLine returns the next line without its terminator. The slice is good until
// the next read. With quotes, a terminator inside a quoted string belongs to it.
func (l *link) readLine(quotes bool) ([]byte, error) {
	at, quoted := l.start, false
	for {
		for ; at < l.end; at++ {
			c := l.in[at]
			if c == '"' && quotes {
				quoted = !quoted
			}
			if quoted {
				continue
			}
			if c == '\n' && l.afterCR && at == l.start {
				l.start, l.afterCR = at+1, false
				continue
			}
			if width := l.terminator(at); width > 0 {
				return l.take(at, width), nil
			}
		}
		moved, err := l.fill()
		if err != nil {
			return nil, err
		}
		at -= moved
	}
}

// terminator returns how many bytes before and with in[at] end the line, or 0.
func (l *link) terminator(at int) int {
	c := l.in[at]
	switch l.replyEnd {
	case "lf":
		return width(c == '\n', 1)
	case "cr":
		return width(c == '\r', 1)
	case "crlf":
		return width(c == '\n' && at > l.start && l.in[at-1] == '\r', 2)
	}
	return width(c == '\n' || c == '\r', 1)
}

func width(ends bool, bytes int) int {
	if ends {
		return bytes
	}
	return 0
}

func (l *link) take(at, width int) []byte {
	line := l.in[l.start : at+1-width]
	l.afterCR = l.in[at] == '\r' && l.replyEnd == "any"
	l.start = at + 1
	return line
}

// fill reads more bytes, and returns how far it moved those that it had.
func (l *link) fill() (moved int, err error) {
	if l.start > 0 {
		moved = l.start
		copy(l.in[:], l.in[l.start:l.end])
		l.start, l.end = 0, l.end-moved
	}
	if l.end == len(l.in) {
		return moved, fmt.Errorf("an answer is longer than %d bytes: %w", longestLine, errGarbled)
	}
	n, err := l.transport.Read(l.in[l.end:])
	l.end += n
	l.heard += uint64(n)
	switch {
	case n > 0:
		return moved, nil
	case err != nil:
		return moved, transportError("read", err)
	case !time.Now().Before(l.deadline): // a serial port says "nothing" without an error
		return moved, fmt.Errorf("read: %w", hal.ErrTimeout)
	}
	return moved, nil
}

// unasked tells whether bytes are there that belong to no question of ours.
func (l *link) unasked() (bool, error) {
	if pender, ok := l.transport.(Pender); ok {
		pending, err := pender.Pending()
		if err != nil {
			return false, transportError("look for stray bytes", err)
		}
		if pending {
			if _, err := l.fill(); err != nil {
				return false, err
			}
		}
	}
	if l.afterCR && l.start < l.end && l.in[l.start] == '\n' {
		l.start, l.afterCR = l.start+1, false
	}
	return l.start < l.end, nil
}

// quieten throws away what comes in until nothing came for the given time.
func (l *link) quieten(silence time.Duration, until time.Time) error {
	l.discard()
	for time.Now().Before(until) {
		if err := l.setDeadline(time.Now().Add(silence)); err != nil {
			return err
		}
		_, err := l.fill()
		l.discard()
		if errors.Is(err, hal.ErrTimeout) {
			return nil
		}
		if err != nil {
			return err
		}
	}
	return fmt.Errorf("the line does not fall silent: %w", errGarbled)
}
