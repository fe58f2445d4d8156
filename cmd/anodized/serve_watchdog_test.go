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
		w := &serviceDog{every: 500 * time.Millisecond, log: slog.New(slog.DiscardHandler),
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
	w := newServiceDog(func(string) string { return "" }, slog.New(slog.DiscardHandler))
	w.notify = func(string) (bool, error) { t.Error("nobody asked"); return false, nil }
	w.beat()
}

// What was counted on and is not there is no detail to go on without.
func TestBoardWatchdogThatCannotBeHadIsRefused(t *testing.T) {
	t.Parallel()
	run := start(t, "serve", "--json", "--listen", "127.0.0.1:0", "--board-watchdog", "/dev/null", "--journal", filepath.Join(t.TempDir(), "j.db"))
	assert.Equal(t, statusCannot, run.end())
	assert.Contains(t, run.errors.String(), "no watchdog")
}

// Five ticks a second, as a slow link has, feed the service manager well within its two
// seconds, also where one of them comes half a second late.
func TestServiceWatchdogAtFiveTicksASecond(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		last, longest := time.Now(), time.Duration(0)
		w := &serviceDog{every: 500 * time.Millisecond, log: slog.New(slog.DiscardHandler),
			notify: func(string) (bool, error) {
				longest, last = max(longest, time.Since(last)), time.Now()
				return true, nil
			}}
		for n := range 100 {
			<-time.After(200*time.Millisecond + time.Duration(n%10/9)*500*time.Millisecond)
			w.beat()
		}
		assert.LessOrEqual(t, longest, 1300*time.Millisecond)
	})
}
