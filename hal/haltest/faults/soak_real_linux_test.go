package faults

import (
	"context"
	"flag"
	"path/filepath"
	"runtime"
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"anodized/controller"
	"anodized/controller/journal"
	"anodized/hal/bench"
	"anodized/hal/virtual"
	"anodized/hal/virtual/front"
	"anodized/hal/virtual/pty"
	"anodized/profiles"
)

var (
	soakFor   = flag.Duration("soak", 0, "how long TestSoakInRealTime soaks; 0: its short form")
	soakEvery = flag.Duration("soak-every", 12*time.Second, "how often a fault strikes a line, on average")
	soakSeed  = flag.Uint64("soak-seed", 1, "of loads and faults")
	soakJSON  = flag.String("soak-json", "", "where the figures go")
)

// shortSoak is the soak of the suite: contact check and some ramp on both lines.
const shortSoak = 6 * time.Second

// TestSoakInRealTime runs load after load over pseudo-terminals at 115,200 baud, SCPI on
// one and Modbus RTU on the other at the same time, with faults of the line that need it
// to find its step again. Nothing that was accepted may be wrong, every step must be
// found again, and nothing may be left over.
func TestSoakInRealTime(t *testing.T) {
	length, every := *soakFor, *soakEvery
	if length == 0 {
		length, every = shortSoak, time.Second
	}
	warm(t)
	report := soakReport{Simulated: true, Kind: "real time over pseudo-terminals at 115,200 baud", Began: time.Now(), Processors: runtime.NumCPU(),
		Ways: map[string]wayReport{}, Start: look(t, 0)}
	began := time.Now()
	clock := func() time.Duration { return time.Since(began) }
	lines := []*soaked{
		onLine(t, "SCPI", clock, every, func(o *front.Options) { o.SCPITerminal = true }),
		onLine(t, "Modbus RTU", clock, every, func(o *front.Options) { o.RTUTerminal = true }),
	}
	stopLooking := looking(t, &report, clock, max(length/120, time.Second))
	var all sync.WaitGroup
	for _, s := range lines {
		s.cut = *soakFor == 0
		all.Go(func() { s.until(t, length) })
	}
	all.Wait()
	stopLooking()
	for _, s := range lines {
		report.Ways[s.name] = s.report
	}
	report.Took, report.Soaked = clock().Seconds(), clock().Seconds()
	closeAll(t)
	report.End, report.PerHour = look(t, clock()), growth(report.Figures)
	report.write(t, *soakJSON)
	for name, way := range report.Ways {
		assert.Zero(t, way.WrongReadings+way.WrongStates+way.WrongSet+way.WrongLids, "%s: %v", name, way.First)
		assert.Zero(t, way.Missed, name)
		assert.Greater(t, way.Readings, 5, name)
	}
	assert.LessOrEqual(t, report.End.Goroutines, report.Start.Goroutines, "%s", stacks())
	assert.LessOrEqual(t, report.End.Descriptors, report.Start.Descriptors)
}

func stacks() []byte {
	text := make([]byte, 1<<16)
	return text[:runtime.Stack(text, true)]
}

// warm has the runtime open what it keeps for the rest of its life to wait for files.
func warm(t *testing.T) {
	t.Helper()
	line, err := pty.Open()
	require.NoError(t, err)
	require.NoError(t, line.Close())
}

// looking takes the figures now and then until it is told to stop.
func looking(t *testing.T, report *soakReport, clock func() time.Duration, every time.Duration) (stop func()) {
	end, ended := make(chan struct{}), make(chan struct{})
	go func() {
		defer close(ended)
		tick := time.NewTicker(every)
		defer tick.Stop()
		for {
			report.Figures = append(report.Figures, look(t, clock()))
			soFar(t, report.Figures)
			select {
			case <-tick.C:
			case <-end:
				return
			}
		}
	}()
	return func() {
		close(end)
		<-ended
	}
}

// closing are what a soak has to close, in the order of opening.
var closing []func()

func closeAll(t *testing.T) {
	t.Helper()
	for i := len(closing) - 1; i >= 0; i-- {
		closing[i]()
	}
	closing = nil
}

// onLine stands a virtual bench at the far end of a pseudo-terminal and opens it by its
// bench file, as a program of its own would.
func onLine(t *testing.T, name string, clock func() time.Duration, every time.Duration, way func(*front.Options)) *soaked {
	t.Helper()
	options := front.Options{Setup: virtual.Setup{Seed: *soakSeed, Parts: spacerParts()}, Baud: 115200, Elapsed: clock}
	way(&options)
	f, err := front.Listen(options)
	require.NoError(t, err)
	ctx, cancel := context.WithCancel(context.Background())
	served := make(chan error, 1)
	go func() { served <- f.Serve(ctx) }()
	closing = append(closing, func() {
		cancel()
		require.NoError(t, <-served)
		assert.False(t, f.Bench().Truth().Powered, "%s is left off", name)
	})
	file, err := profiles.ReadBench("bench.yaml", []byte(f.BenchFile()))
	require.NoError(t, err)
	set, err := bench.Open(t.Context(), file, nil)
	require.NoError(t, err)
	closing = append(closing, func() { require.NoError(t, set.Close()) })
	kept, err := journal.Open(filepath.Join(t.TempDir(), "soak.db"), journal.Options{})
	require.NoError(t, err)
	closing = append(closing, func() { require.NoError(t, kept.Close()) })
	ticker, err := controller.NewTicker(100 * time.Millisecond)
	require.NoError(t, err)
	s := &soaked{name: name, bench: f.Bench(), now: clock, every: every, seed: *soakSeed, stays: true, record: kept, pacer: ticker,
		devices: controller.Devices{Supply: set.Supply, Interlock: set.Interlock, Thermometer: set.Thermometer, Simulated: set.Simulated, Identity: set.Identity}}
	s.watch()
	return s
}
