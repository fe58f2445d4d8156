package main

import (
	"bytes"
	"context"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"testing/synctest"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"anodized/hal/virtual/front"
)

// monitored is a folder of monitors, of which the board's says this of its voltage.
func monitored(t *testing.T, alarm string) string {
	folder := t.TempDir()
	at := filepath.Join(folder, "hwmon1")
	require.NoError(t, os.Mkdir(at, 0o700))
	require.NoError(t, os.WriteFile(filepath.Join(at, "name"), []byte("rpi_volt\n"), 0o600))
	require.NoError(t, os.WriteFile(filepath.Join(at, "in0_lcrit_alarm"), []byte(alarm+"\n"), 0o600))
	return folder
}

func TestBoardIsAskedAgainAndNotInSimulatedTime(t *testing.T) {
	folder := monitored(t, "1")
	b := newBoard(env{hwmon: folder}, false)
	assert.True(t, b.underVoltage())
	require.NoError(t, os.WriteFile(filepath.Join(folder, "hwmon1", "in0_lcrit_alarm"), []byte("0\n"), 0o600))
	b.look()
	assert.False(t, b.underVoltage())
	assert.False(t, newBoard(env{hwmon: monitored(t, "1")}, true).underVoltage())
	assert.False(t, newBoard(env{}, false).underVoltage(), "no monitors")
}

// TestLookingAgainEndsWithItsContext: once a period, and not once more after it was told to end.
func TestLookingAgainEndsWithItsContext(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		ctx, cancel := context.WithTimeout(t.Context(), 7*time.Second)
		defer cancel()
		began, looks := time.Now(), 0
		lookAgain(ctx, 2*time.Second, func() { looks++ })
		assert.Equal(t, 3, looks)
		assert.Equal(t, 7*time.Second, time.Since(began))
	})
}

// TestRunOnABoardWithTooLittleVoltageIsRefused: over the wire, in real time.
func TestRunOnABoardWithTooLittleVoltageIsRefused(t *testing.T) {
	t.Parallel()
	args, _ := onSockets(t, func(*front.Options) {})
	var out, messages bytes.Buffer
	e := env{stdin: strings.NewReader(""), stdout: &out, stderr: &messages, getenv: os.Getenv, hwmon: monitored(t, "1")}
	assert.Equal(t, statusCannot, run(t.Context(), e, args), "%s", &messages)
	assert.Contains(t, out.String(), "this computer reports under-voltage")
	assert.NotContains(t, out.String(), `"contact-check"`)
}
