package controller

import (
	"context"
	"encoding/json"
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"anodized/controller/process"
	"anodized/controller/watch"
)

// The status as outsiders see it: every name is a promise. UPDATE_GOLDEN=1 writes
// the files anew.
func TestStatusJSON(t *testing.T) {
	blank := newStand(0, Options{}, off(process.Idle, 0))
	golden(t, "status_blank.json", blank.Snapshot())

	s, _ := withContactor(4)
	s.core.commands = []process.Command{on(process.Ramping, 5, 1)}
	require.ErrorIs(t, s.Run(context.Background()), errEnough)
	golden(t, "status_ramping.json", s.Snapshot())
}

// A load that was stopped had 124 s left, and said so until the next one.
func TestNothingIsLeftOfALoadThatHasEnded(t *testing.T) {
	e := watch.Estimates{SecondsLeft: 124, LeastLeft: 95, MostLeft: 152}
	_, now := estimates(e, process.Command{State: process.Ramping, Progress: 0.2})
	assert.Equal(t, Progress{0.2, 124, 95, 152}, now)
	for _, state := range []process.State{process.Discharging, process.Complete, process.Stopped, process.Tripped, process.Idle} {
		_, now := estimates(e, process.Command{State: state})
		assert.False(t, now.SecondsLeft.Known() || now.LeastLeft.Known() || now.MostLeft.Known(), state)
	}
}

func golden(t *testing.T, name string, value any) {
	t.Helper()
	got, err := json.MarshalIndent(value, "", "  ")
	require.NoError(t, err)
	path := filepath.Join("testdata", name)
	if os.Getenv("UPDATE_GOLDEN") != "" {
		require.NoError(t, os.MkdirAll("testdata", 0o755))
		require.NoError(t, os.WriteFile(path, append(got, '\n'), 0o644))
	}
	want, err := os.ReadFile(path)
	require.NoError(t, err)
	assert.JSONEq(t, string(want), string(got))
}
