package virtual

import (
	"context"
	"fmt"
	"time"

	"anodized/hal"
)

// timed is the supply in memory of a bench whose supply has a lost-host timer. It also has
// hal.LostHostTimer.
type timed struct{ *supply }

func (t timed) ArmLostHost(ctx context.Context) (time.Duration, error) {
	b := t.bench
	b.mu.Lock()
	defer b.mu.Unlock()
	after := float64(b.setup.LostHost)
	if err := t.setLostHost(ctx, "arming the lost-host timer", true, after); err != nil {
		return 0, err
	}
	if r := &b.registers; !r.lostHost || r.lostHostAfter != after {
		return 0, fmt.Errorf("arming the lost-host timer: %w: the supply says %t, %v s", hal.ErrMismatch, r.lostHost, r.lostHostAfter)
	}
	return seconds(after), nil
}

func (t timed) DisarmLostHost(ctx context.Context) error {
	b := t.bench
	b.mu.Lock()
	defer b.mu.Unlock()
	if b.registers.output {
		return fmt.Errorf("disarming the lost-host timer: %w: the output is on", hal.ErrRefused)
	}
	err := t.setLostHost(ctx, "disarming the lost-host timer", false, b.registers.lostHostAfter)
	if err == nil && b.registers.lostHost {
		err = fmt.Errorf("disarming the lost-host timer: %w: it stays armed", hal.ErrMismatch)
	}
	return err
}

// setLostHost is one exchange. A supply that is deaf to settings keeps what it has.
func (t timed) setLostHost(ctx context.Context, doing string, armed bool, after float64) error {
	heard, err := t.exchange(ctx, doing)
	if r := &t.bench.registers; heard && !r.deaf {
		r.lostHost, r.lostHostAfter = armed, after
	}
	return err
}
