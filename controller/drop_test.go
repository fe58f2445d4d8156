package controller

import (
	"context"
	"sync/atomic"
	"testing"
	"testing/synctest"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"anodized/controller/process"
	"anodized/hal"
)

// deafContactor takes pulses, and answers a drop after a long time.
type deafContactor struct {
	hal.Contactor
	deaf  atomic.Bool
	halts atomic.Int64
}

func (c *deafContactor) Halt() error {
	c.halts.Add(1)
	if c.deaf.Load() {
		pass(1800 * time.Millisecond)
		return hal.ErrTimeout
	}
	return c.Contactor.Halt()
}

// A contactor on a module that has fallen silent holds up neither the supply's off nor the
// ticks behind it, and is told again until it has let go.
func TestSilentContactorHoldsUpNoOff(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		ticker, err := NewTicker(100 * time.Millisecond)
		require.NoError(t, err)
		s, b := belled(ticker)
		deaf := &deafContactor{Contactor: b}
		s.devices.Contactor, s.enable.contactor = deaf, deaf
		var stopped, ticks atomic.Int64
		s.core.decide = func(in *process.Input) process.Command {
			ticks.Add(1)
			if in.Event == process.Stop || stopped.Load() > 0 {
				stopped.Add(1)
				return off(process.Discharging, 1)
			}
			return on(process.Holding, 5, 1)
		}
		ctx, cancel := context.WithCancel(t.Context())
		ended := make(chan error)
		go func() { ended <- s.Run(ctx) }()
		pass(437 * time.Millisecond)
		require.True(t, s.wire.isOn())
		deaf.deaf.Store(true)
		before, dropped := ticks.Load(), deaf.halts.Load()
		s.Stop(false, "by a person")
		pass(60 * time.Millisecond)
		synctest.Wait()
		assert.False(t, s.wire.isOn(), "off goes out beside the drop")
		pass(time.Second)
		assert.Greater(t, ticks.Load(), before+8, "ticks go on")
		assert.Equal(t, dropped+1, deaf.halts.Load(), "one drop is on its way")
		deaf.deaf.Store(false)
		pass(2 * time.Second)
		assert.Greater(t, deaf.halts.Load(), dropped+1, "told again")
		cancel()
		require.NoError(t, <-ended)
	})
}
