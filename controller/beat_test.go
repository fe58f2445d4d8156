package controller

import (
	"context"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"anodized/controller/process"
	"anodized/hal"
)

func TestBeatComesFromFinishedTicksThatReadTheLid(t *testing.T) {
	beats := 0
	s := newStand(5, Options{Beat: func() { beats++ }}, off(process.Idle, 0))
	require.ErrorIs(t, s.Run(context.Background()), errEnough)
	assert.Equal(t, 5, beats)

	beats = 0
	s = newStand(5, Options{Beat: func() { beats++ }}, off(process.Idle, 0))
	s.wire.fail["lid"] = hal.ErrGone
	require.ErrorIs(t, s.Run(context.Background()), errEnough)
	assert.Zero(t, beats, "a lid that nobody reads feeds no watchdog")
}

func TestQuestionSaysHowLongItStaysOpen(t *testing.T) {
	ask := process.Command{State: process.ContactCheck, On: true, Set: 8, Limit: 1, Question: "area-overstated"}
	s := newStand(11, Options{}, ask)
	require.ErrorIs(t, s.Run(context.Background()), errEnough)
	assert.InDelta(t, 59, float64(s.Snapshot().Question.Left), 1e-6)
}
