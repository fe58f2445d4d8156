//go:build !linux

package gpio

import (
	"fmt"

	"anodized/hal"
)

// Open says that only Linux has these chips.
func Open(path string) (Chip, error) {
	return nil, fmt.Errorf("open GPIO chip %s: only Linux has these: %w", path, hal.ErrGone)
}
