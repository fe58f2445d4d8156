//go:build !linux

package bench

import (
	"fmt"

	"anodized/profiles"
)

func openUSB(a profiles.Address) (*USBTMC, error) {
	return nil, fmt.Errorf("%w: %s: USB test-and-measurement devices are opened on Linux only", ErrFile, a.Device)
}

// devicePath is the device file as it was given: nothing is looked up here.
func devicePath(a profiles.Address) string { return a.Device }
