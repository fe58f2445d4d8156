package main

import (
	"bytes"
	"context"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// promptly runs this program, and fails where it keeps a person waiting.
func promptly(t *testing.T, args ...string) (status int, said string) {
	t.Helper()
	ctx, cancel := context.WithTimeout(t.Context(), time.Minute)
	defer cancel()
	command := exec.CommandContext(ctx, "anodized", args...)
	var out bytes.Buffer
	command.Stdout, command.Stderr = &out, &out
	_ = command.Run() // its status is looked at
	require.NoError(t, ctx.Err(), "%v hangs", args)
	return command.ProcessState.ExitCode(), out.String()
}

// A pipe that nobody writes into, given as a file of ours, keeps no command waiting.
func TestNoCommandWaitsForAPipe(t *testing.T) {
	t.Parallel()
	pipe := filepath.Join(t.TempDir(), "fifo")
	command(t, "mkfifo", pipe)
	for _, args := range [][]string{
		{"check", pipe},
		{"plan", "--profile", pipe},
		{"plan", "--rack", pipe},
		{"run", "--bench", pipe},
		{"run", "--calibration", pipe},
		{"serve", "--config", pipe},
		{"serve", "--bench", pipe},
		{"review", "--curve", pipe, "--area", "200 cm2"},
		{"area", pipe},
		{"area", "--mesh", pipe},
		{"virtual-bench", "--bench-file", pipe},
		{"ladder", "fit", pipe},
		{"match", "--volts", "49 V", "--measured", "83, -9, 23", "--master-file", pipe},
		{"match", "--volts", "49 V", "--set", pipe, "--master", "83, -9, 23"},
	} {
		status, said := promptly(t, args...)
		assert.Equal(t, statusBadInput, status, "%v: %s", args, said)
		assert.Contains(t, said, pipe, "%v", args)
	}
}

// What the shell passes as a process substitution is read.
func TestProcessSubstitutionIsRead(t *testing.T) {
	t.Parallel()
	shell, err := exec.LookPath("bash")
	require.NoError(t, err)
	said, err := exec.Command(shell, "-c", "anodized check <(cat ../../testdata/good/profile.yaml)").CombinedOutput()
	require.NoError(t, err, "%s", said)
	assert.True(t, strings.HasSuffix(string(said), ": profile, ok\n"), "%s", said)
}
