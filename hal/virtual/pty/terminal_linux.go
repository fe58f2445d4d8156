package pty

import (
	"errors"
	"fmt"
	"io"
	"os"
	"strconv"
	"sync"
	"syscall"
	"time"

	"golang.org/x/sys/unix"
)

// lookAgain is how often an end that nobody has open is looked at.
const lookAgain = 10 * time.Millisecond

// Terminal is the far end of a pseudo-terminal.
type Terminal struct {
	far  *os.File
	path string

	mu       sync.Mutex
	deadline time.Time // of reads
	closed   chan struct{}
	once     sync.Once
}

// Open makes a pseudo-terminal. Nobody needs to be root for that.
func Open() (*Terminal, error) {
	far, err := os.OpenFile("/dev/ptmx", os.O_RDWR|syscall.O_NOCTTY|syscall.O_NONBLOCK, 0)
	if err != nil {
		return nil, fmt.Errorf("make a pseudo-terminal: %w", err)
	}
	t := &Terminal{far: far, closed: make(chan struct{})}
	if err := t.unlock(); err != nil {
		return nil, errors.Join(fmt.Errorf("make a pseudo-terminal: %w", err), far.Close())
	}
	return t, nil
}

// unlock finds the name of the near end and lets others open it, raw.
func (t *Terminal) unlock() error {
	return control(t.far, func(fd int) error {
		if err := unix.IoctlSetPointerInt(fd, unix.TIOCSPTLCK, 0); err != nil {
			return fmt.Errorf("unlock it: %w", err)
		}
		number, err := unix.IoctlGetInt(fd, unix.TIOCGPTN)
		if err != nil {
			return fmt.Errorf("find its number: %w", err)
		}
		t.path = "/dev/pts/" + strconv.Itoa(number)
		settings, err := unix.IoctlGetTermios(fd, unix.TCGETS)
		if err != nil {
			return fmt.Errorf("read its settings: %w", err)
		}
		raw(settings)
		return unix.IoctlSetTermios(fd, unix.TCSETS, settings)
	})
}

// raw switches off echo and line editing, which a pseudo-terminal starts with.
func raw(s *unix.Termios) {
	s.Iflag, s.Oflag, s.Lflag = 0, 0, 0
	s.Cflag = s.Cflag&^(unix.CSIZE|unix.PARENB) | unix.CS8
	s.Cc[unix.VMIN], s.Cc[unix.VTIME] = 1, 0
}

func control(f *os.File, do func(fd int) error) error {
	conn, err := f.SyscallConn()
	if err != nil {
		return err
	}
	var failed error
	if err := conn.Control(func(fd uintptr) { failed = do(int(fd)) }); err != nil {
		return err
	}
	return failed
}

// Path is where the near end is found.
func (t *Terminal) Path() string { return t.path }

// Read waits for bytes from the near end. It returns io.EOF each time that the near
// end was closed by the last who had it open; a later Read waits for the next.
func (t *Terminal) Read(p []byte) (int, error) {
	n, err := t.far.Read(p)
	if !errors.Is(err, syscall.EIO) {
		return n, err
	}
	if err := t.pause(); err != nil {
		return 0, err
	}
	return 0, io.EOF
}

// pause lets a moment pass in which somebody may open the near end.
func (t *Terminal) pause() error {
	t.mu.Lock()
	wait := lookAgain
	if left := time.Until(t.deadline); !t.deadline.IsZero() && left < wait {
		wait = left
	}
	t.mu.Unlock()
	if wait <= 0 {
		return os.ErrDeadlineExceeded
	}
	timer := time.NewTimer(wait)
	defer timer.Stop()
	select {
	case <-timer.C:
		return nil
	case <-t.closed:
		return os.ErrClosed
	}
}

// Write sends bytes to the near end.
func (t *Terminal) Write(p []byte) (int, error) { return t.far.Write(p) }

// SetReadDeadline bounds reads.
func (t *Terminal) SetReadDeadline(deadline time.Time) error {
	t.mu.Lock()
	t.deadline = deadline
	t.mu.Unlock()
	return t.orClosed(t.far.SetReadDeadline(deadline))
}

// SetWriteDeadline bounds writes.
func (t *Terminal) SetWriteDeadline(deadline time.Time) error {
	return t.orClosed(t.far.SetWriteDeadline(deadline))
}

// orClosed names the error of a closed terminal: that of a deadline has no name of
// its own in package os.
func (t *Terminal) orClosed(err error) error {
	select {
	case <-t.closed:
		return os.ErrClosed
	default:
		return err
	}
}

// Close takes the terminal away: whoever has its near end open reads its end.
func (t *Terminal) Close() error {
	t.once.Do(func() { close(t.closed) })
	return t.far.Close()
}
