package main

import (
	"bufio"
	"bytes"
	"context"
	"encoding/json"
	"io"
	"net"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	benches "anodized/hal/bench"
	"anodized/profiles"
)

// standing starts virtual-bench and returns its line and how to stop it.
func standing(t *testing.T, args ...string) (line listening, stop func() int) {
	t.Helper()
	out, in := io.Pipe()
	ctx, cancel := context.WithCancel(context.Background())
	status := make(chan int, 1)
	go func() {
		status <- run(ctx, env{stdin: strings.NewReader(""), stdout: in, stderr: io.Discard, getenv: os.Getenv}, append([]string{"virtual-bench"}, args...))
		_ = in.Close() // a pipe's writer cannot fail to close
	}()
	stopped := false
	stop = func() int {
		cancel()
		stopped = true
		return <-status
	}
	t.Cleanup(func() {
		if !stopped {
			stop()
		}
	})
	text, err := bufio.NewReader(out).ReadBytes('\n')
	require.NoError(t, err)
	require.NoError(t, json.Unmarshal(text, &line), string(text))
	return line, stop
}

func TestVirtualBenchSaysWhereItIsAndWritesItsBenchFile(t *testing.T) {
	path := filepath.Join(t.TempDir(), "bench.yaml")
	require.NoError(t, os.WriteFile(path, []byte("# SIMULATED: of yesterday\n"), 0o600))
	line, stop := standing(t, "--seed", "9", "--bench-file", path, "--fault", "leak@0s", "--highest-current", "3 A")
	assert.True(t, line.Simulated)
	assert.Equal(t, uint64(9), line.Seed)
	assert.Equal(t, []string{"leak@0s"}, line.Faults)
	require.NotNil(t, line.BenchFile)
	assert.Equal(t, path, *line.BenchFile)
	bench, err := profiles.OpenBench(path, nil)
	require.NoError(t, err)
	require.NoError(t, benches.Check(bench))
	assert.Equal(t, line.SCPI, bench.Supply.Address)
	assert.Equal(t, line.Modbus, bench.Interlock.Address)
	assert.InDelta(t, 3, float64(bench.Supply.HighestCurrent), 0)
	conn, err := net.Dial("tcp", strings.TrimPrefix(line.SCPI, "tcp://"))
	require.NoError(t, err)
	_, err = io.WriteString(conn, "*IDN?\n")
	require.NoError(t, err)
	identity, err := bufio.NewReader(conn).ReadString('\n')
	require.NoError(t, err)
	assert.True(t, strings.HasPrefix(identity, "ANODIZED,SIMULATED BENCH,9,"), identity)
	require.NoError(t, conn.Close())
	assert.Equal(t, statusDone, stop())
	_, err = net.Dial("tcp", strings.TrimPrefix(line.SCPI, "tcp://"))
	assert.Error(t, err, "the port is closed")
}

func TestVirtualBenchRefusals(t *testing.T) {
	own := filepath.Join(t.TempDir(), "bench.yaml")
	require.NoError(t, os.WriteFile(own, []byte("supply:\n"), 0o600))
	taken, err := net.Listen("tcp", "127.0.0.1:0")
	require.NoError(t, err)
	defer func() { require.NoError(t, taken.Close()) }()
	for _, c := range []struct {
		status int
		says   string
		args   []string
	}{
		{statusBadInput, "allowed are", []string{"--fault", "gremlin@3s"}},
		{statusBadInput, "35V (reached)", []string{"--fault", "leak@35 apples"}},
		{statusBadInput, "a moment is needed", []string{"--fault", "contact-lost"}},
		{statusBadInput, "no rack is called", []string{"--rack", "hat stand"}},
		{statusBadInput, "name another", []string{"--bench-file", own}},
		{statusBadInput, "at most 1000 V", []string{"--highest-voltage", "2000 V"}},
		{statusBadInput, "none of the others can be", []string{"--scpi-pty", "--rtu-pty"}},
		{statusBadInput, "allowed are 1200", []string{"--rtu-pty", "--baud", "9601"}},
		{statusCannot, "opening the ways", []string{"--modbus-supply-listen", "127.0.0.1:notaport"}},
		{statusBadInput, "no flag --frequency", []string{"--frequency", "3"}},
		{statusCannot, "address already in use", []string{"--listen", taken.Addr().String()}},
		{statusCannot, "write the bench file", []string{"--bench-file", filepath.Join(t.TempDir(), "nowhere", "bench.yaml")}},
	} {
		var stdout, stderr bytes.Buffer
		ctx, cancel := context.WithCancel(context.Background())
		status := run(ctx, env{stdin: strings.NewReader(""), stdout: &stdout, stderr: &stderr, getenv: os.Getenv}, append([]string{"virtual-bench"}, c.args...))
		cancel()
		assert.Equal(t, c.status, status, "%v: %s", c.args, stderr.String())
		assert.Contains(t, stderr.String(), c.says, c.args)
		assert.Empty(t, stdout.String())
	}
	text, err := os.ReadFile(own)
	require.NoError(t, err)
	assert.Equal(t, "supply:\n", string(text), "a file of the shop stays as it is")
}

// The other ways to the supply: the bench file names them, and a supply is there.
func TestVirtualBenchInOtherWays(t *testing.T) {
	for scheme, args := range map[string][]string{
		"serial": {"--scpi-pty"}, "rtu": {"--rtu-pty", "--baud", "19200"}, "tcp": {"--modbus-supply-listen", "127.0.0.1:0"},
	} {
		t.Setenv("XDG_RUNTIME_DIR", t.TempDir())
		path := filepath.Join(t.TempDir(), "bench.yaml")
		line, stop := standing(t, append(args, "--bench-file", path)...)
		require.NotNil(t, line.Way)
		assert.True(t, strings.HasPrefix(*line.Way, scheme+"://"), *line.Way)
		bench, err := profiles.OpenBench(path, nil)
		require.NoError(t, err)
		assert.Equal(t, *line.Way, bench.Supply.Address)
		set, err := benches.Open(t.Context(), bench, nil)
		require.NoError(t, err)
		assert.True(t, set.Simulated)
		require.NoError(t, set.Close())
		assert.Equal(t, statusDone, stop())
	}
}
