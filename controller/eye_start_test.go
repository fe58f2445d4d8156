package controller

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"anodized/controller/process"
)

// A start that waits for the record to be closed is put back each tick; a stop that comes
// between the taking and the putting back must still drop it.
func TestStartThatWaitsForTheEyeDoesNotOutliveAStop(t *testing.T) {
	s := newStand(1, Options{ClockWaits: true})
	s.owner.load = &load{eye: eye{asked: true}}
	require.NoError(t, s.orders.askStart(request()))
	next := s.orders.take() // the owner has it in its hand
	s.Stop(false, "a person")
	s.take(next)
	assert.Equal(t, process.Stop, s.orders.take().event)
	assert.Equal(t, process.NoEvent, s.orders.take().event, "the start was asked before the stop")
}
