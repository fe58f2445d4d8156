//go:build !linux

package bench

import (
	"fmt"
	"os"

	"anodized/profiles"
)

// port is a serial port, which this version opens on Linux only.
type port struct{ *os.File }

func openPort(a profiles.Address) (*port, error) {
	return nil, fmt.Errorf("%w: %s: serial ports are opened on Linux only", ErrFile, a.Device)
}

// Flush has nothing to throw away.
func (*port) Flush() error { return nil }

// Pending knows of no bytes.
func (*port) Pending() (bool, error) { return false, nil }
