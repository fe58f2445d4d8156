//go:build !linux

package pty

import (
	"errors"
	"time"
)

var errNone = errors.New("pseudo-terminals are made on Linux only")

// Terminal is the far end of a pseudo-terminal, which this system has none of.
type Terminal struct{}

// Open fails: this system has no pseudo-terminals that this package knows.
func Open() (*Terminal, error) { return nil, errNone }

// Path is empty.
func (*Terminal) Path() string { return "" }

// Read fails.
func (*Terminal) Read([]byte) (int, error) { return 0, errNone }

// Write fails.
func (*Terminal) Write([]byte) (int, error) { return 0, errNone }

// SetReadDeadline fails.
func (*Terminal) SetReadDeadline(time.Time) error { return errNone }

// SetWriteDeadline fails.
func (*Terminal) SetWriteDeadline(time.Time) error { return errNone }

// Close has nothing to close.
func (*Terminal) Close() error { return nil }
