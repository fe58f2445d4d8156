//go:build !linux

package watchdog

import (
	"fmt"
	"log/slog"
	"runtime"
	"time"
)

func open(string, time.Duration, *slog.Logger) (device, time.Duration, error) {
	return nil, 0, fmt.Errorf("%w: on %s this program knows none", ErrNone, runtime.GOOS)
}
