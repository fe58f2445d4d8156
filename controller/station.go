package controller

import (
	"context"
	"fmt"
	"log/slog"
	"strings"
	"sync/atomic"
	"time"

	"anodized/controller/fault"
	"anodized/controller/plan"
	"anodized/controller/process"
	"anodized/controller/record"
	"anodized/controller/watch"
	"anodized/hal"
	"anodized/hal/unit"
)

// machine is the pure core: watch, then step.
type machine interface {
	Load(p plan.Plan) bool
	Pace(tick unit.Seconds) bool
	Tick(in *process.Input) process.Command
	Estimates() watch.Estimates
	FindingCount() int
	Findings() []fault.Finding
	Summary() (process.Summary, bool)
	Row() record.Row
	Bench() watch.Bench
	SafeToOpen() (bool, unit.Volts)
	LidMoments() (opened, closed unit.Seconds)
	LidCycled() bool
}

// Station owns the devices of one bench. Run it once; everything else may be
// called from any goroutine at any time.
type Station struct {
	devices   Devices
	pacer     Pacer
	clock     Clock // nil where the time stands still within a tick
	log       *slog.Logger
	options   Options
	limits    hal.Limits
	machine   machine
	protector hal.Protector     // nil where the supply has no trip of its own
	lostHost  hal.LostHostTimer // nil where it has no lost-host timer
	exchange  *exchange
	offBound  time.Duration // of the off path
	enable    enable
	lidMoves  <-chan struct{} // nil where the lid switch cannot call
	scribe    *scribe
	orders    orders
	listeners listeners
	snapshot  atomic.Pointer[Snapshot]
	ran       atomic.Bool
	lidSeen   lidSeen
	owner     owner // touched by the goroutine of Run alone
}

// New returns a Station over open devices. It talks to none of them yet.
func New(d Devices, p Pacer, r Recorder, log *slog.Logger, o Options) *Station {
	o = o.withDefaults()
	limits := d.Supply.Limits()
	s := newStation(d, p, r, log, o, limits)
	s.machine = process.NewLoop(process.Config{
		VoltStep: limits.VoltStep, AmpereStep: limits.AmpereStep,
		HighestVolts: limits.HighestVolts, HighestAmperes: limits.HighestAmperes,
		LeastVolts: limits.LeastVolts, LeastAmperes: limits.LeastAmperes,
		Settle: unit.Seconds(limits.Settle.Seconds()), Tick: unit.Seconds(o.Tick.Seconds()),
		OneShot: unit.Seconds(d.OneShot.Seconds()), Voltmeter: d.Voltmeter != nil, MeterSettle: meterSettle(d),
	})
	return s
}

func newStation(d Devices, p Pacer, r Recorder, log *slog.Logger, o Options, limits hal.Limits) *Station {
	bound := limits.Exchange
	if bound <= 0 {
		bound = 300 * time.Millisecond
	}
	bound += 50 * time.Millisecond
	watched := bound
	if o.ClockWaits {
		watched = 0
	}
	s := &Station{
		devices: d, pacer: p, log: log, options: o, limits: limits, offBound: 2 * bound,
		exchange: newExchange(watched),
		scribe:   newScribe(r, log, o.QueueRows, o.RecordWait),
		owner:    newOwner(),
	}
	if clock, real := p.(Clock); real && !o.ClockWaits {
		s.clock = clock
	}
	s.owner.period, s.owner.pace = o.Tick, process.PaceKept
	s.protector, _ = d.Supply.(hal.Protector)
	s.lostHost, _ = d.Supply.(hal.LostHostTimer)
	s.enable.contactor, s.lidMoves = d.Contactor, changes(d.Interlock)
	s.snapshot.Store(s.blank())
	return s
}

// Run switches off, then ticks until ctx is done, then switches off. It returns
// nil when both the first and the last off were confirmed by the supply. A load
// that is under way when ctx ends is stopped.
func (s *Station) Run(ctx context.Context) error {
	if s.ran.Swap(true) {
		return ErrRanBefore
	}
	go s.scribe.run()
	defer s.listeners.close()
	if err := s.off(); err != nil {
		s.orders.close()
		close(s.scribe.queue)
		return fmt.Errorf("switch off before anything else: %w", err)
	}
	stopInterrupting := context.AfterFunc(ctx, s.exchange.interrupt)
	defer stopInterrupting()
	defer s.watching()()
	defer s.owner.alarm.stop()
	for {
		at, err := s.pacer.Next(ctx)
		if err != nil {
			return s.shutDown(ctx, err)
		}
		s.tick(ctx, at)
	}
}

// shutDown is off first; then the record gets its last words, if it takes them.
func (s *Station) shutDown(ctx context.Context, cause error) error {
	off := s.off()
	s.exchange.renew()
	s.disarm(cutShort(s.owner.last))
	s.orders.close()
	s.abandon()
	if err := s.scribe.close(s.options.RecordWait); err != nil {
		s.log.Error("the record is not whole", "error", err)
	}
	switch {
	case off != nil:
		return fmt.Errorf("switch off at the end: %w", off)
	case ctx.Err() == nil:
		return fmt.Errorf("wait for the next tick: %w", cause)
	}
	return nil
}

// Start asks for a load. It is refused at once where one is under way or a trip
// is latched, or where the lid should have moved first; whether it may energise is told
// by events.
func (s *Station) Start(request Request) error {
	now := s.snapshot.Load()
	if err := now.mayStart(); err != nil {
		return err
	}
	if err := s.lidSeen.first(); err != nil && request.LidFirst {
		return err
	}
	return s.orders.askStart(request)
}

// Stop switches the output off. It is never refused and overtakes every start
// that was asked before. byEye says that the person saw the colour that was
// wanted, which is a good end.
func (s *Station) Stop(byEye bool, why string) {
	event := process.Stop
	if byEye {
		event = process.StopByEye
	}
	if dropped := s.orders.askStop(event, why); dropped != nil {
		s.listeners.send(refusal(*dropped, s.devices.Simulated, []string{"stopped before it began: " + why}))
	}
	if s.enable.energised.Load() { // else there is nothing to be quick about, however many ask
		s.hasten()
	}
}

// Answer answers the open question: go on, or give up.
func (s *Station) Answer(goOn bool) error {
	if s.snapshot.Load().Question == nil {
		return ErrNoQuestion
	}
	event := process.GiveUp
	if goOn {
		event = process.GoOn
	}
	s.orders.askAnswer(event)
	return nil
}

// Acknowledge clears a latched trip in the name of a person, where its cause is
// gone. It starts nothing.
func (s *Station) Acknowledge(who string) error {
	switch {
	case strings.TrimSpace(who) == "":
		return ErrNobody
	case s.snapshot.Load().Trip == nil:
		return ErrNothingToDo
	}
	s.orders.askAcknowledge(who)
	return nil
}

// Snapshot returns the bench and its run at the end of the last tick. It is never
// nil and must not be changed.
func (s *Station) Snapshot() *Snapshot { return s.snapshot.Load() }

// Subscribe follows the Station. A listener that lags more than buffer events
// behind misses some; results are never left out. The channel is closed when the
// Station has ended, or after cancel.
func (s *Station) Subscribe(buffer int) (<-chan Event, func()) {
	one := s.listeners.add(buffer)
	return one.out, func() { s.listeners.remove(one) }
}
