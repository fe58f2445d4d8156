package controller

import (
	"context"
	"errors"
	"math/rand/v2"
	"net"
	"slices"
	"strings"
	"sync"
	"testing"
	"testing/synctest"
	"time"

	"github.com/stretchr/testify/require"

	"anodized/controller/plan"
	"anodized/controller/record"
	"anodized/hal"
	"anodized/hal/scpi"
	"anodized/hal/unit"
	"anodized/hal/virtual"
	"anodized/hal/virtual/scpiserver"
)

// rig is a Station with a ticker of real time on a virtual bench, inside a bubble of
// package synctest: real time there passes when everybody waits.
type rig struct {
	station *Station
	bench   *virtual.Bench
	kept    *shelf
	pace    *benchTicker
	result  record.Result
	tripped time.Duration // when the trip was told
	told    []Event       // all but progress
}

// benchTicker keeps the clock of the bench at real time.
type benchTicker struct {
	*Ticker
	bench *virtual.Bench
	stall map[int]time.Duration // in the n-th tick
	ticks int
}

func (b *benchTicker) Next(ctx context.Context) (time.Time, error) {
	_, err := b.Ticker.Next(ctx)
	b.ticks++
	if stall := b.stall[b.ticks]; stall > 0 {
		<-time.After(stall)
	}
	b.bench.AdvanceTo(sinceEpoch())
	return time.Now(), err
}

func sinceEpoch() time.Duration { return time.Since(virtual.Epoch) }

// dial is a way to the supply of a bench, and what a test may do to it.
type way interface {
	open(t *testing.T, bench *virtual.Bench) hal.Supply
}

// inRig builds a rig, lets it begin a load, and runs do in the middle of it.
func inRig(t *testing.T, w way, seed uint64, p plan.Plan, do func(*rig)) (r *rig) {
	t.Helper()
	setup := virtual.Setup{Seed: seed}
	for range 8 {
		setup.Parts = append(setup.Parts, virtual.Part{Area: 25})
	}
	bench, err := virtual.New(setup)
	require.NoError(t, err)
	ticker, err := NewTicker(100 * time.Millisecond)
	require.NoError(t, err)
	r = &rig{bench: bench, kept: &shelf{}, pace: &benchTicker{Ticker: ticker, bench: bench, stall: map[int]time.Duration{}}}
	r.station = New(Devices{Supply: w.open(t, bench), Interlock: lidOf(bench, w), Simulated: true},
		r.pace, r.kept, quiet(), Options{})
	ctx, cancel := context.WithCancel(t.Context())
	defer cancel()
	events, leave := r.station.Subscribe(10000)
	defer leave()
	require.NoError(t, r.station.Start(Request{Plan: p}))
	done := make(chan error, 1)
	go func() { done <- r.station.Run(ctx) }()
	do(r)
	for ev := range events {
		if ev.Kind != KindProgress {
			r.told = append(r.told, ev)
		}
		if ev.Kind == KindTrip {
			r.tripped = sinceEpoch()
		}
		if ev.Kind == KindResult {
			r.result = *ev.Result
			break
		}
	}
	cancel()
	if err := <-done; err != nil {
		t.Logf("the station ended with %v", err)
	}
	return r
}

// until lets time pass until the Station shows a state.
func (r *rig) until(t *testing.T, state string) {
	t.Helper()
	for range 100_000 {
		if r.station.Snapshot().State == state {
			return
		}
		<-time.After(10 * time.Millisecond)
	}
	t.Fatalf("%s was never reached: it is %s", state, r.station.Snapshot().State)
}

// inMemory is the supply of the bench as it is, with answers that take their time.
type inMemory struct{ delay time.Duration }

func (w inMemory) open(_ *testing.T, bench *virtual.Bench) hal.Supply {
	return &delayed{Supply: bench.Supply(), bench: bench, delay: w.delay}
}

func lidOf(bench *virtual.Bench, w way) hal.Interlock {
	slow := delayedLid{Interlock: bench.Interlock()}
	if m, is := w.(inMemory); is {
		slow.delay = m.delay
	}
	return slow
}

type delayedLid struct {
	hal.Interlock
	delay time.Duration
}

func (l delayedLid) Channels(ctx context.Context) (hal.Channels, error) {
	<-time.After(l.delay)
	channels, err := l.Interlock.Channels(ctx)
	channels.At = time.Now()
	return channels, err
}

// delayed is a supply whose answers take their time.
type delayed struct {
	hal.Supply
	bench *virtual.Bench
	delay time.Duration
}

func (d *delayed) Limits() hal.Limits {
	limits := d.Supply.Limits()
	limits.Exchange = 300 * time.Millisecond
	return limits
}

func (d *delayed) wait() {
	<-time.After(d.delay)
	d.bench.AdvanceTo(sinceEpoch())
}

func (d *delayed) SetVoltage(ctx context.Context, v unit.Volts) (unit.Volts, error) {
	d.wait()
	return d.Supply.SetVoltage(ctx, v)
}

func (d *delayed) SetCurrent(ctx context.Context, a unit.Amperes) (unit.Amperes, error) {
	d.wait()
	return d.Supply.SetCurrent(ctx, a)
}

func (d *delayed) Energised(ctx context.Context) (bool, error) {
	d.wait()
	return d.Supply.Energised(ctx)
}

func (d *delayed) Energise(ctx context.Context) error {
	d.wait()
	return d.Supply.Energise(ctx)
}

func (d *delayed) Measure(ctx context.Context) (hal.Sample, error) {
	d.wait()
	sample, err := d.Supply.Measure(ctx)
	sample.At = time.Now()
	return sample, err
}

func (d *delayed) Check(ctx context.Context) (hal.State, error) {
	d.wait()
	return d.Supply.Check(ctx)
}

// onPipe is the supply behind the SCPI driver and a pipe that can be cut.
type onPipe struct {
	mu     sync.Mutex
	bench  *virtual.Bench
	server *scpiserver.Instrument
	now    net.Conn
	heard  []heardLine
	dials  int
	mute   bool
}

type heardLine struct {
	at   time.Duration
	text string
}

func (w *onPipe) open(t *testing.T, bench *virtual.Bench) hal.Supply {
	w.bench, w.server = bench, scpiserver.New(bench.Source(), scpiserver.Questionable, 0)
	transport, err := w.dial(t.Context())
	require.NoError(t, err)
	t.Cleanup(w.cut)
	supply, err := scpi.Open(t.Context(), scpi.Options{Transport: transport, Redial: w.dial, HighestVolts: 120, HighestAmperes: 5,
		Dialect: scpi.Dialect{Compound: true, OPC: true, Status: "questionable", Settle: 150 * time.Millisecond,
			DecimalsV: 3, DecimalsA: 4, MainsReturn: "halted"}})
	require.NoError(t, err)
	return supply.WithAbilities()
}

func (w *onPipe) dial(ctx context.Context) (scpi.Transport, error) {
	w.cut()
	near, far := net.Pipe()
	w.mu.Lock()
	w.now = near
	w.dials++
	w.mu.Unlock()
	go func() {
		if err := scpiserver.ServeLine(ctx, far, w); err != nil && !errors.Is(err, context.Canceled) {
			panic(err)
		}
	}()
	return near, nil
}

// cut is the end of the connection there is.
func (w *onPipe) cut() {
	w.mu.Lock()
	defer w.mu.Unlock()
	if w.now != nil {
		_ = w.now.Close() // a pipe's Close cannot fail
	}
}

func (w *onPipe) Connected() bool { return true }
func (w *onPipe) Disconnected()   {}

func (w *onPipe) Overrun() scpiserver.Reply { return scpiserver.Reply{} }

func (w *onPipe) Line(line string) (reply scpiserver.Reply) {
	w.mu.Lock()
	w.heard = append(w.heard, heardLine{sinceEpoch(), line})
	mute := w.mute
	w.mu.Unlock()
	w.bench.Exchange(sinceEpoch(), func() { reply.Text = w.server.Execute(line) })
	if reply.Text != "" {
		reply.Text += "\n"
	}
	if mute {
		reply.Text = ""
	}
	return reply
}

// silence lets the supply hear and say nothing from now on.
func (w *onPipe) silence() {
	w.mu.Lock()
	defer w.mu.Unlock()
	w.mute = true
}

// since is what was heard since a moment.
func (w *onPipe) since(moment time.Duration) []heardLine {
	w.mu.Lock()
	defer w.mu.Unlock()
	i := slices.IndexFunc(w.heard, func(h heardLine) bool { return h.at >= moment })
	if i < 0 {
		return nil
	}
	return slices.Clone(w.heard[i:])
}

// is tells lines that begin so.
func is(begin string) func(heardLine) bool {
	return func(h heardLine) bool { return strings.HasPrefix(h.text, begin) }
}

// somewhere lets a random part of a span pass.
func somewhere(random *rand.Rand, from, to time.Duration) {
	<-time.After(from + time.Duration(random.Int64N(int64(to-from))))
}

// bubbled is a test in a bubble.
func bubbled(t *testing.T, name string, test func(*testing.T)) {
	t.Run(name, func(t *testing.T) { synctest.Test(t, test) })
}
