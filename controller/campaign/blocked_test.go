package campaign

import (
	"context"
	"flag"
	"fmt"
	"math/rand/v2"
	"slices"
	"sync"
	"testing"
	"testing/synctest"
	"time"

	"anodized/controller"
	"anodized/controller/plan"
	"anodized/controller/record"
	"anodized/hal"
	"anodized/hal/unit"
	"anodized/hal/virtual"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

var blockedRuns = flag.Int("blocked-runs", 24, "openings of the lid in TestOffWaitsForNothing")

// blocked is a recorder whose disk takes the intent, and then nothing until the end.
type blocked struct{ freed chan struct{} }

func (b blocked) Begin(context.Context, record.Intent) (string, error) { return "1", nil }
func (b blocked) Append(record.Row)                                    { <-b.freed }
func (b blocked) Note(record.Event)                                    { <-b.freed }
func (b blocked) Finish(ctx context.Context, _ record.Result) error {
	select {
	case <-b.freed:
	case <-ctx.Done():
	}
	return ctx.Err()
}

// slow is the supply of a bench whose answers take their time, and do not come at all once
// its link hangs. It notes when off was said.
type slow struct {
	supply
	bench *virtual.Bench

	mu    sync.Mutex
	hangs bool
	offAt time.Duration // 0: not since it was on
	on    bool
}

// takes is what an exchange takes on a link in order; a serial line at 9600 baud needs as
// much.
const takes = 20 * time.Millisecond

func (s *slow) Limits() hal.Limits {
	limits := s.supply.Limits()
	limits.Exchange = 300 * time.Millisecond
	return limits
}

// wait is the time of one exchange.
func (s *slow) wait(ctx context.Context) error {
	s.mu.Lock()
	hangs := s.hangs
	s.mu.Unlock()
	defer func() { s.bench.AdvanceTo(time.Since(virtual.Epoch)) }()
	if !hangs {
		<-time.After(takes)
		return nil
	}
	select {
	case <-ctx.Done():
	case <-time.After(time.Second):
	}
	return fmt.Errorf("asking the supply: %w", hal.ErrTimeout)
}

func (s *slow) Measure(ctx context.Context) (hal.Sample, error) {
	if err := s.wait(ctx); err != nil {
		return hal.Sample{}, err
	}
	sample, err := s.supply.Measure(ctx)
	sample.At = time.Now()
	return sample, err
}

func (s *slow) Check(ctx context.Context) (hal.State, error) {
	if err := s.wait(ctx); err != nil {
		return hal.State{}, err
	}
	return s.supply.Check(ctx)
}

func (s *slow) SetVoltage(ctx context.Context, v unit.Volts) (unit.Volts, error) {
	if err := s.wait(ctx); err != nil {
		return 0, err
	}
	return s.supply.SetVoltage(ctx, v)
}

func (s *slow) Energise(ctx context.Context) error {
	s.mu.Lock()
	s.on, s.offAt = true, 0
	s.mu.Unlock()
	return s.supply.Energise(ctx)
}

func (s *slow) Halt(ctx context.Context) error {
	s.mu.Lock()
	if s.on && s.offAt == 0 {
		s.offAt = time.Since(virtual.Epoch)
	}
	s.mu.Unlock()
	return s.supply.Halt(ctx)
}

// ticking keeps the clock of the bench at that of the bubble.
type ticking struct {
	*controller.Ticker
	bench *virtual.Bench
}

func (p ticking) Next(ctx context.Context) (time.Time, error) {
	_, err := p.Ticker.Next(ctx)
	p.bench.AdvanceTo(time.Since(virtual.Epoch))
	return time.Now(), err
}

// lidAt is the lid switch, whose readings are of the bubble's time.
type lidAt struct{ hal.Interlock }

func (l lidAt) Channels(ctx context.Context) (hal.Channels, error) {
	channels, err := l.Interlock.Channels(ctx)
	channels.At = time.Now()
	return channels, err
}

// calling is one that also calls when it moves.
type calling struct {
	lidAt
	hal.Changer
}

// bounds are from the lid to the word for off: where the lid switch calls, and where it is
// polled over a slow module.
var bounds = map[bool]time.Duration{true: 350 * time.Millisecond, false: 850 * time.Millisecond}

// TestOffWaitsForNothing opens the lid at any moment of drawn loads while the disk takes
// nothing more, the queue before it is full, a hundred clients follow and take nothing, and
// in every second load the link hangs. Off is on the wire as soon as if none of it were so.
func TestOffWaitsForNothing(t *testing.T) {
	late := map[bool][]time.Duration{}
	for n := range uint64(*blockedRuns) {
		calls := n%4 < 2
		t.Run(fmt.Sprint(n), func(t *testing.T) {
			synctest.Test(t, func(t *testing.T) { late[calls] = append(late[calls], openedIn(t, n, calls)) })
		})
	}
	for calls, all := range late {
		slices.Sort(all)
		t.Logf("a lid that calls: %v; off %v after it at the most, half within %v", calls, all[len(all)-1], all[len(all)/2])
	}
}

// openedIn is one load, and how long after the lid off was said.
func openedIn(t *testing.T, n uint64, calls bool) time.Duration {
	random := rand.New(rand.NewPCG(n, 6))
	c := Healthy(n, Surface(), Spread{OwnCalibration: true})
	p, err := plan.Build(c.Request)
	require.NoError(t, err)
	bench, err := virtual.New(c.Setup)
	require.NoError(t, err)
	ticker, err := controller.NewTicker(100 * time.Millisecond)
	require.NoError(t, err)
	wire := &slow{supply: bench.Supply().(supply), bench: bench}
	disk := blocked{make(chan struct{})}
	lid := hal.Interlock(lidAt{bench.Interlock()})
	if calls {
		lid = calling{lidAt{bench.Interlock()}, bench.Interlock().(hal.Changer)}
	}
	station := controller.New(controller.Devices{Supply: wire, Interlock: lid, Simulated: true},
		ticking{ticker, bench}, disk, quiet, controller.Options{QueueRows: 8})
	for range 100 {
		_, leave := station.Subscribe(4)
		defer leave()
	}
	require.NoError(t, station.Start(controller.Request{Plan: p, Seed: n}))
	ctx, cancel := context.WithCancel(t.Context())
	defer cancel()
	done := make(chan error, 1)
	go func() { done <- station.Run(ctx) }()
	under(t, station)
	<-time.After(5*time.Second + time.Duration(random.Int64N(int64(20*time.Second)))) // the queue of eight is full by now
	require.Positive(t, station.Snapshot().Loop.Dropped, "the disk takes nothing and the queue is full")
	opened := open(t, wire, bench, n%2 == 1, random)
	<-time.After(2 * time.Second)
	wire.mu.Lock()
	said := wire.offAt
	wire.mu.Unlock()
	require.NotZero(t, said, "off was never said")
	after := said - opened
	assert.LessOrEqual(t, after, bounds[calls])
	close(disk.freed)
	cancel()
	<-done // a supply that hangs cannot confirm the last off
	return after
}

// under waits until a load is under power.
func under(t *testing.T, s *controller.Station) {
	for range 2000 {
		if slices.Contains(underPower, s.Snapshot().State) {
			return
		}
		<-time.After(10 * time.Millisecond)
	}
	require.Fail(t, "nothing came under power", "%+v", s.Snapshot())
}

// open opens the lid, a moment after the link began to hang where it does, and tells when.
func open(t *testing.T, wire *slow, bench *virtual.Bench, hangs bool, random *rand.Rand) time.Duration {
	if hangs {
		wire.mu.Lock()
		wire.hangs = true
		wire.mu.Unlock()
		<-time.After(time.Duration(random.Int64N(int64(300 * time.Millisecond))))
	}
	bench.AdvanceTo(time.Since(virtual.Epoch))
	require.NoError(t, bench.Inject(virtual.Fault{ID: "interlock-open"}))
	return time.Since(virtual.Epoch)
}
