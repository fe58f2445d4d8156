package hal

import (
	"context"
	"time"
)

// LostHostTimer is an optional ability: a supply that switches its output off by itself where
// nothing has reached it for a delay, and latches that as a trip of its own.
// ArmLostHost sets the delay, switches the timer on, and returns the delay in force once the
// supply has confirmed both. DisarmLostHost switches it off and has that confirmed; while the
// output may be on it is [ErrRefused], and nothing is sent. A supply that turns out to have no
// such timer answers both with [ErrRefused].
type LostHostTimer interface {
	ArmLostHost(ctx context.Context) (time.Duration, error)
	DisarmLostHost(ctx context.Context) error
}
