package stand

import (
	"bytes"
	"errors"
	"io"
	"os"
	"sync"
	"syscall"
	"time"
)

// USB is a cable to an instrument as the kernel shows a USB test-and-measurement device:
// one message a call, calls that block until their own time-out, a status byte.
type USB struct {
	end *End

	mu      sync.Mutex // the kernel's driver: one call after the other
	came    []byte
	timeout time.Duration
}

// NewUSB puts the end of a cable into a USB port.
func NewUSB(end *End) *USB { return &USB{end: end, timeout: 5 * time.Second} }

// messageAvailable is a bit of the status byte (IEEE 488.2).
const messageAvailable = 16

// unplugged is what the kernel says of a device that is not there any more.
func unplugged(err error) error {
	if errors.Is(err, io.EOF) || errors.Is(err, io.ErrClosedPipe) {
		return syscall.ENODEV
	}
	return err
}

// Write sends one message.
func (u *USB) Write(message []byte) (int, error) {
	u.mu.Lock()
	defer u.mu.Unlock()
	n, err := u.end.Write(message)
	return n, unplugged(err)
}

// Read returns the next message once all of it is there.
func (u *USB) Read(answer []byte) (int, error) {
	u.mu.Lock()
	defer u.mu.Unlock()
	by := time.Now().Add(u.timeout)
	for {
		if end := bytes.IndexByte(u.came, '\n'); end >= 0 {
			n := copy(answer, u.came[:end+1])
			u.came = u.came[:copy(u.came, u.came[n:])]
			return n, nil
		}
		if err := u.more(by); err != nil {
			return -1, err
		}
	}
}

func (u *USB) more(by time.Time) error {
	if err := u.end.SetReadDeadline(by); err != nil {
		return err
	}
	var chunk [256]byte
	n, err := u.end.Read(chunk[:])
	u.came = append(u.came, chunk[:n]...)
	if errors.Is(err, os.ErrDeadlineExceeded) {
		return errors.Join(os.ErrDeadlineExceeded, syscall.ETIMEDOUT)
	}
	return unplugged(err)
}

// SetTimeout bounds both directions.
func (u *USB) SetTimeout(d time.Duration) error {
	u.mu.Lock()
	defer u.mu.Unlock()
	u.timeout = d
	return nil
}

// Clear throws away what is on its way.
func (u *USB) Clear() error {
	u.mu.Lock()
	defer u.mu.Unlock()
	u.came = nil
	return u.end.Flush()
}

// StatusByte tells whether a message is there.
func (u *USB) StatusByte() (byte, error) {
	u.mu.Lock()
	defer u.mu.Unlock()
	if there, err := u.end.Pending(); err == nil && there {
		if err := u.more(time.Now()); err != nil {
			return 0, err
		}
	}
	if bytes.IndexByte(u.came, '\n') >= 0 {
		return messageAvailable, nil
	}
	return 0, nil
}

// Close pulls the cable.
func (u *USB) Close() error { return u.end.Close() }
