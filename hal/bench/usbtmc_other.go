//go:build !linux

package bench

import (
	"fmt"

	"anodized/profiles"
)

func openUSB(a profiles.Address) (*usbtmc, error) {
	return nil, fmt.Errorf("%w: %s: USB test-and-measurement devices are opened on Linux only", ErrFile, a.Device)
}
