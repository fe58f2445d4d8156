package controller

import (
	"context"
	"errors"
	"testing"
	"testing/synctest"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"anodized/controller/fault"
	"anodized/controller/process"
	"anodized/controller/record"
)

// run is a pure core that goes through a load as the real one does: it waits for
// the intent, is on for some ticks, and ends.
func (m *script) run(ticks int) {
	state, left := process.Idle, ticks
	m.decide = func(in *process.Input) process.Command {
		switch {
		case in.Event == process.Start:
			state = process.Checking
		case in.Event == process.Stop, in.Event == process.StopByEye:
			state = process.Stopped
		case state == process.Checking && in.NoRecord:
			state = process.Refused
		case state == process.Checking && in.Durable:
			state = process.Ramping
		case state == process.Ramping && left > 0:
			left--
		case state == process.Ramping:
			state = process.Complete
		}
		c := process.Command{State: state, Limit: 1, Intent: state == process.Checking, On: state == process.Ramping, T: in.Now}
		c.Close = c.On || state == process.Checking && in.Durable
		if state == process.Refused {
			c.Reasons = process.RecordNotReady
		}
		return c
	}
}

// follow starts a load and returns its result.
func follow(t *testing.T, s *stand) record.Result {
	t.Helper()
	events, cancel := s.Subscribe(1000)
	defer cancel()
	require.NoError(t, s.Start(request()))
	ended := make(chan error, 1)
	go func() { ended <- s.Run(context.Background()) }()
	for ev := range events {
		if ev.Kind == KindResult {
			assert.ErrorIs(t, <-ended, errEnough) // what the fakes heard is read once nobody writes it
			return *ev.Result
		}
	}
	t.Fatal("the station ended without a result")
	return record.Result{}
}

func TestIntentThenRowsThenResult(t *testing.T) {
	s := newStand(50, Options{ClockWaits: true})
	s.core.run(5)
	res := follow(t, s)
	assert.Equal(t, record.Complete, res.Outcome)
	assert.Equal(t, "1", res.Run)
	assert.True(t, res.Simulated)
	require.NotNil(t, res.EndVolts)
	assert.Equal(t, 8.0, *res.EndVolts)
	assert.NotNil(t, res.Findings, "an empty list, not null")
	require.Equal(t, []record.Result{res}, s.shelf.results)
	order := s.shelf.order
	assert.Equal(t, "begin", order[0])
	assert.Equal(t, "finish", order[len(order)-1])
	assert.Len(t, s.shelf.rows, 8, "a row for each tick from the intent to the end")
	assert.Equal(t, "SIMULATED,,,", s.shelf.intents[0].Supply)
}

func TestOutputWaitsForTheIntent(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		s := newStand(0, Options{})
		s.core.run(3)
		disk := make(chan struct{})
		s.shelf.begin = func(context.Context) error { <-disk; return nil }
		ticker, err := NewTicker(100 * time.Millisecond)
		require.NoError(t, err)
		s.pacer, s.wire.now = ticker, time.Now
		ctx, cancel := context.WithCancel(t.Context())
		done := make(chan error, 1)
		go func() { done <- s.Run(ctx) }()
		require.NoError(t, s.Start(request()))
		pass(3 * time.Second)
		synctest.Wait()
		assert.False(t, s.wire.isOn(), "the intent is not on the disk")
		assert.Greater(t, s.Snapshot().Tick, uint64(25), "the loop goes on meanwhile")
		assert.Empty(t, s.shelf.rows, "no row without an intent")
		close(disk)
		pass(200 * time.Millisecond)
		synctest.Wait()
		assert.True(t, s.wire.isOn())
		cancel()
		require.NoError(t, <-done)
		assert.False(t, s.wire.isOn())
	})
}

func TestDiskThatIsTooSlowRefuses(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		s := newStand(0, Options{})
		s.core.run(3)
		disk := make(chan struct{})
		s.shelf.begin = func(context.Context) error { <-disk; return nil } // ignores its context
		res, end := startInRealTime(t, s)
		assert.Equal(t, record.Refused, res.Outcome)
		assert.Contains(t, res.Reasons[len(res.Reasons)-1], "5s")
		assert.NotContains(t, s.wire.lines(), "on")
		close(disk)
		synctest.Wait()
		require.Len(t, s.shelf.results, 1, "an intent that comes too late is closed")
		assert.Equal(t, record.Refused, s.shelf.results[0].Outcome)
		end()
	})
}

// startInRealTime runs the stand on a real ticker, starts a load and returns its
// result, and how to end the station.
func startInRealTime(t *testing.T, s *stand) (record.Result, func()) {
	t.Helper()
	ticker, err := NewTicker(100 * time.Millisecond)
	require.NoError(t, err)
	s.pacer, s.wire.now = ticker, time.Now
	ctx, cancel := context.WithCancel(t.Context())
	done := make(chan error, 1)
	go func() { done <- s.Run(ctx) }()
	events, leave := s.Subscribe(1000)
	require.NoError(t, s.Start(request()))
	end := func() {
		leave()
		cancel()
		require.NoError(t, <-done)
	}
	for ev := range events {
		if ev.Kind == KindResult {
			return *ev.Result, end
		}
	}
	t.Fatal("no result")
	return record.Result{}, end
}

func TestJournalThatFailsRefuses(t *testing.T) {
	s := newStand(60, Options{ClockWaits: true})
	s.core.run(3)
	s.shelf.begin = func(context.Context) error { return errors.New("no space left on device") }
	res := follow(t, s)
	assert.Equal(t, record.Refused, res.Outcome)
	assert.Contains(t, res.Reasons, "no space left on device")
	assert.Empty(t, s.shelf.rows)
	assert.NotContains(t, s.wire.lines(), "on")
	assert.Nil(t, res.Trip)
}

func TestResultThatIsNotWrittenSaysSo(t *testing.T) {
	s := newStand(60, Options{ClockWaits: true})
	s.core.run(3)
	s.shelf.finish = func(context.Context) error { return errors.New("read-only file system") }
	res := follow(t, s)
	assert.Equal(t, record.Complete, res.Outcome)
	require.Len(t, res.Findings, 1)
	assert.Equal(t, fault.JournalUnwritable, res.Findings[0].Code)
}

func TestRecorderThatHangsHoldsUpNothing(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		s := newStand(0, Options{QueueRows: 10})
		s.core.run(1000)
		ticker, err := NewTicker(100 * time.Millisecond)
		require.NoError(t, err)
		s.pacer, s.wire.now = ticker, time.Now
		hung := make(chan struct{})
		s.shelf.append = func() { <-hung }
		ctx, cancel := context.WithCancel(t.Context())
		done := make(chan error, 1)
		go func() { done <- s.Run(ctx) }()
		require.NoError(t, s.Start(request()))
		pass(5 * time.Second)
		synctest.Wait()
		require.True(t, s.wire.isOn())
		assert.Positive(t, s.Snapshot().Loop.Dropped, "what has no room is counted")
		s.Stop(false, "enough")
		pass(100 * time.Millisecond)
		synctest.Wait()
		assert.False(t, s.wire.isOn(), "off within a tick")
		cancel()
		require.NoError(t, <-done)
		close(hung)
		synctest.Wait()
	})
}

func TestStopWhileAnExchangeHangs(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		s := newStand(0, Options{})
		s.core.run(1000)
		ticker, err := NewTicker(100 * time.Millisecond)
		require.NoError(t, err)
		s.pacer, s.wire.now = ticker, time.Now
		ctx, cancel := context.WithCancel(t.Context())
		done := make(chan error, 1)
		go func() { done <- s.Run(ctx) }()
		require.NoError(t, s.Start(request()))
		pass(time.Second)
		synctest.Wait()
		require.True(t, s.wire.isOn())
		s.wire.change(func() { s.wire.hang["measure"] = true })
		pass(150 * time.Millisecond) // in the middle of it
		asked := time.Now()
		s.Stop(true, "that is the colour")
		for s.wire.isOn() {
			pass(time.Millisecond)
		}
		assert.LessOrEqual(t, time.Since(asked), 101*time.Millisecond)
		cancel()
		require.NoError(t, <-done)
	})
}

func TestHungExchangeIsCutAtItsBound(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		s := newStand(0, Options{}, off(process.Idle, 0))
		ticker, err := NewTicker(100 * time.Millisecond)
		require.NoError(t, err)
		s.pacer, s.wire.now = ticker, time.Now
		s.wire.hang["measure"] = true
		ctx, cancel := context.WithCancel(t.Context())
		done := make(chan error, 1)
		go func() { done <- s.Run(ctx) }()
		pass(3600 * time.Millisecond)
		synctest.Wait()
		assert.InDelta(t, 9, s.wire.measured, 1, "350 ms each, on the grid of ticks")
		assert.Positive(t, s.Snapshot().Loop.Errors.Supply)
		assert.Equal(t, process.Reading{}, s.core.inputs[2].Reading)
		cancel()
		require.NoError(t, <-done)
	})
}

func TestShutDownDuringALoadIsOffFirstAndClosesTheRecord(t *testing.T) {
	s := newStand(20, Options{ClockWaits: true})
	s.core.run(1000)
	res := follow(t, s)
	assert.Equal(t, record.Stopped, res.Outcome)
	assert.Equal(t, []string{"the station was shut down"}, res.Reasons)
	assert.False(t, s.wire.isOn())
	assert.Len(t, s.shelf.results, 1)
}

// pass lets simulated time pass: it is called inside a synctest bubble alone.
func pass(d time.Duration) { <-time.After(d) }
