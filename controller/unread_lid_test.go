package controller

import (
	"context"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"anodized/controller/process"
	"anodized/hal"
)

// TestALidThatIsNotReadIsShownOpen: neither page nor metrics keep the last that was read.
func TestALidThatIsNotReadIsShownOpen(t *testing.T) {
	s := newStand(8, Options{}, off(process.Idle, 0))
	s.wire.fail["lid"] = hal.ErrTimeout
	s.owner.input.Interlock.Closed = [2]bool{true, true}
	require.ErrorIs(t, s.Run(context.Background()), errEnough)
	view := s.Snapshot().Interlock
	assert.False(t, view.Closed)
	assert.Equal(t, [2]bool{}, view.Channels)
}
