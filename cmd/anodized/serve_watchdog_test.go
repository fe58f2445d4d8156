package main

import (
	"log/slog"
	"net"
	"path/filepath"
	"sync/atomic"
	"syscall"
	"testing"
	"testing/synctest"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// TestSystemdIsTold listens where systemd would.
func TestSystemdIsTold(t *testing.T) {
	path := filepath.Join(t.TempDir(), "notify")
	socket, err := net.ListenUnixgram("unixgram", &net.UnixAddr{Name: path, Net: "unixgram"})
	require.NoError(t, err)
	defer func() { require.NoError(t, socket.Close()) }()
	t.Setenv("NOTIFY_SOCKET", path)
	t.Setenv("WATCHDOG_USEC", "2000000")
	s := serve(t)
	next := func() string {
		text := make([]byte, 200)
		require.NoError(t, socket.SetReadDeadline(time.Now().Add(20*time.Second)))
		n, err := socket.Read(text)
		require.NoError(t, err)
		return string(text[:n])
	}
	seen := map[string]int{}
	for seen["READY=1"] == 0 || seen["WATCHDOG=1"] < 3 {
		seen[next()]++
	}
	assert.Equal(t, 1, seen["READY=1"])
	require.NoError(t, s.command.Process.Signal(syscall.SIGTERM))
	for seen["STOPPING=1"] == 0 {
		seen[next()]++
	}
	assert.Equal(t, statusDone, s.end())
}

func TestWatchdogIsFedFourTimesAPeriodAtMost(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		fed := atomic.Int32{}
		w := &watchdog{every: 500 * time.Millisecond, log: slog.New(slog.DiscardHandler),
			notify: func(string) (bool, error) { fed.Add(1); return true, nil }}
		tick := time.NewTicker(tickPeriod)
		defer tick.Stop()
		for range 100 {
			<-tick.C
			w.beat()
		}
		assert.EqualValues(t, 20, fed.Load(), "ten seconds of ticks")
	})
}

func TestNobodyWatchesWithoutSystemd(t *testing.T) {
	w := newWatchdog(func(string) string { return "" }, slog.New(slog.DiscardHandler))
	w.notify = func(string) (bool, error) { t.Error("nobody asked"); return false, nil }
	w.beat()
}
