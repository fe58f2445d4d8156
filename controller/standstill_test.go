package controller

import (
	"context"
	"testing"
	"testing/synctest"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"anodized/controller/process"
	"anodized/hal"
)

// slowLid takes its time to answer, and may stand still with the whole computer.
type slowLid struct {
	*bell
	takes, stands time.Duration
	standAt, asks int
}

func (l *slowLid) Channels(ctx context.Context) (hal.Channels, error) {
	l.asks++
	if l.asks == l.standAt {
		pass(l.stands) // nobody can cut what does not run
		return hal.Channels{}, hal.ErrTimeout
	}
	select {
	case <-ctx.Done():
		return hal.Channels{}, ctx.Err()
	case <-time.After(l.takes):
		return l.bell.Channels(ctx)
	}
}

// A lid that was not asked because the computer stood still is asked before it counts as
// open: what comes out is the control that was away, with its own name.
func TestLidIsAskedAgainAfterAStandstill(t *testing.T) {
	for name, c := range map[string]struct{ between, within time.Duration }{
		"between two ticks": {between: 3 * time.Second},
		"within the answer": {within: 3 * time.Second},
	} {
		t.Run(name, func(t *testing.T) {
			synctest.Test(t, func(t *testing.T) {
				ticker, err := NewTicker(100 * time.Millisecond)
				require.NoError(t, err)
				s, b := belled(ticker)
				s.clock = ticker
				lid := &slowLid{bell: b, takes: 10 * time.Millisecond, stands: c.within}
				if c.within > 0 {
					lid.standAt = 6
				}
				s.devices.Interlock = lid
				ticks, unread := 0, 0
				s.core.decide = func(in *process.Input) process.Command {
					ticks++
					if ticks == 5 && c.between > 0 {
						pass(c.between)
					}
					if !in.Interlock.OK || in.Now-in.Interlock.At > process.LidAge {
						unread++
					}
					return on(process.Holding, 5, 1)
				}
				ctx, cancel := context.WithCancel(t.Context())
				ended := make(chan error)
				go func() { ended <- s.Run(ctx) }()
				pass(5050 * time.Millisecond) // between two ticks: the end cuts no answer off
				cancel()
				require.NoError(t, <-ended)
				assert.Zero(t, unread)
				assert.Greater(t, ticks, 10)
			})
		})
	}
}
