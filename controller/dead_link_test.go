package controller

import (
	"context"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"anodized/controller/process"
	"anodized/hal"
)

// TestTheOutputBehindADeadLinkIsUnknown also where nothing was energised: somebody at the
// panel may have switched it on since it was last read.
func TestTheOutputBehindADeadLinkIsUnknown(t *testing.T) {
	s := newStand(60, Options{}, off(process.Idle, 0))
	s.core.decide = func(*process.Input) process.Command {
		if len(s.core.inputs) == 20 {
			assert.Equal(t, "off", s.Snapshot().Supply.Output)
			for _, what := range []string{"measure", "check", "off"} {
				s.wire.fail[what] = hal.ErrTimeout
			}
		}
		return off(process.Idle, 0)
	}
	require.ErrorIs(t, s.Run(context.Background()), hal.ErrTimeout, "off at the end is not confirmed either")
	assert.Equal(t, "unknown", s.Snapshot().Supply.Output)
}
