package campaign_test

import (
	"context"
	"errors"
	"flag"
	"fmt"
	"log/slog"
	"math/rand/v2"
	"net"
	"strings"
	"sync"
	"testing"
	"time"

	"anodized/controller"
	"anodized/controller/campaign"
	"anodized/controller/fault"
	"anodized/controller/plan"
	"anodized/controller/process"
	"anodized/controller/record"
	"anodized/hal"
	"anodized/hal/bench"
	"anodized/hal/virtual/front"
	"anodized/hal/virtual/modbusserver"
	"anodized/profiles"
)

// opening is one way in which a load is told to end.
type opening struct {
	calls  bool // the lid switch calls; otherwise it is polled over Modbus
	silent bool // the module falls silent instead of saying that the lid is open
	stop   bool // a person stops instead
	hangs  bool // the supply answers nothing any more, from a moment before
}

// lanes are loads at a time: most of an opening is waiting, and the eight rows of a thousand
// take five minutes. What many lanes cost this computer shows in the bare timer.
var lanes = flag.Int("off-lanes", 24, "loads at a time in OffOnTheWire")

// BenchmarkOffOnTheWire measures, in real time and over TCP, how long it takes from a
// lid that opens (or what stands for it) to the first byte of "off" on the supply's wire.
// Each opening is a load of its own on a virtual bench of its own, opened at a random
// moment. The figures are those of this computer under its load: how late a bare timer of
// the same process is stands beside them, what is left without its lateness ("ours"), and
// the way of the slowest ones.
//
//	go test -run '^$' -bench OffOnTheWire -benchtime 1000x ./controller/campaign
func BenchmarkOffOnTheWire(b *testing.B) {
	b.Setenv("XDG_RUNTIME_DIR", b.TempDir())
	var names []string
	rows := map[string]string{}
	for _, c := range []struct {
		name string
		opening
	}{
		{"a lid that calls", opening{calls: true}},
		{"a lid that calls, an exchange hangs", opening{calls: true, hangs: true}},
		{"stop by a person", opening{stop: true}},
		{"stop by a person, an exchange hangs", opening{stop: true, hangs: true}},
		{"lid on Modbus inputs", opening{}},
		{"lid on Modbus inputs, an exchange hangs", opening{hangs: true}},
		{"Modbus inputs fall silent", opening{silent: true}},
		{"Modbus inputs fall silent, an exchange hangs", opening{silent: true, hangs: true}},
	} {
		b.Run(c.name, func(b *testing.B) {
			row := c.opening.many(b)
			if !b.Failed() {
				rows[c.name] = row.report(b)
			}
		})
		names = append(names, c.name)
	}
	fmt.Println(table(names, rows)) // the log of a benchmark that only has others is not shown
}

// many runs b.N openings on parallel lanes, beside a bare timer.
func (o opening) many(b *testing.B) row {
	r, next := row{openings: make([]trace, b.N)}, make(chan int)
	bare, timing := &bareTimer{}, sync.WaitGroup{}
	ctx, cancel := context.WithCancel(b.Context())
	timing.Go(func() { bare.run(ctx) })
	var all sync.WaitGroup
	for range min(*lanes, b.N) {
		all.Go(func() {
			for i := range next {
				var err error
				if r.openings[i], err = o.one(b.Context(), bare, rand.New(rand.NewPCG(uint64(i), 0x6f6666))); err != nil {
					b.Errorf("opening %d: %v", i, err)
				}
			}
		})
	}
	for i := range r.openings {
		next <- i
	}
	close(next)
	all.Wait()
	cancel()
	timing.Wait()
	r.bare = bare.late()
	return r
}

// lane is one bench with a load on it.
type lane struct {
	tap     *tap
	supply  *tracedSupply
	lid     *lidModule
	calling *callingLid
	pacer   *tracedPacer
	set     *bench.Set
	station *controller.Station
	ended   chan struct{} // once the Station has
	end     func() error
}

// beginnings is how often a load is begun: a computer that stalls refuses one, or trips
// it before its lid opens.
const beginnings = 10

// errOffBefore is a load that had ended before its lid was opened.
var errOffBefore = errors.New("the output was off before")

// one runs loads until one is energised when its lid opens.
func (o opening) one(ctx context.Context, bare *bareTimer, random *rand.Rand) (way trace, err error) {
	for range beginnings {
		var l *lane
		if l, err = energised(ctx, o); err != nil {
			continue
		}
		way, err = l.measure(o, bare, random)
		if err = errors.Join(err, l.end()); !errors.Is(err, errOffBefore) {
			return way, err
		}
	}
	return trace{}, err
}

// measure opens the lid at a random moment of the usual ticks.
func (l *lane) measure(o opening, bare *bareTimer, random *rand.Rand) (trace, error) {
	pause(random, 2*usualPeriod)
	if o.hangs {
		l.tap.mute.Store(true)
		defer l.tap.mute.Store(false)
		pause(random, 250*time.Millisecond)
	}
	l.tap.armed.Store(true)
	if l.station.Snapshot().Trip != nil {
		return trace{}, errOffBefore
	}
	l.pacer.called.arm()
	l.pacer.tick.arm()
	l.lid.seen.arm()
	l.supply.halted.arm()
	before := queued()
	began := time.Now()
	l.open(o)
	select {
	case at := <-l.tap.off:
		way := l.traced(o, bare, began, at)
		way.queue = longestQueue(before)
		return way, nil
	case <-time.After(20 * time.Second):
	}
	if trip := l.station.Snapshot().Trip; trip != nil && (o.stop || trip.Code != fault.InterlockOpen) {
		return trace{}, fmt.Errorf("%w: %s", errOffBefore, trip.Code)
	}
	return trace{}, errors.New("off did not come")
}

// traced is the way of an off that came.
func (l *lane) traced(o opening, bare *bareTimer, began, at time.Time) trace {
	way := trace{took: at.Sub(began), called: l.pacer.called.since(began), tick: l.pacer.tick.since(began), stall: bare.during(began, at),
		halted: l.supply.halted.since(began), last: l.supply.before(began)}
	if !o.calls && !o.stop {
		way.good = time.Duration(l.lid.good.Load() - began.UnixNano())
		way.called = l.lid.seen.since(began)
	}
	return way
}

func pause(random *rand.Rand, most time.Duration) {
	<-time.After(time.Duration(random.Int64N(int64(most)))) // the moment is the input
}

func (l *lane) open(o opening) {
	switch {
	case o.stop:
		l.station.Stop(false, "by a person")
	case o.silent:
		l.lid.silent.Store(true)
	default:
		l.lid.open.Store(true)
		l.calling.ring()
	}
}

// energised is a bench on which a load has just been energised.
func energised(ctx context.Context, o opening) (*lane, error) {
	l, err := stand(ctx, o)
	if err != nil {
		return nil, err
	}
	if err := l.energise(); err != nil {
		return nil, errors.Join(err, l.end())
	}
	return l, nil
}

// energise starts the load, lets the lid be seen open and closed, and waits for volts.
func (l *lane) energise() error {
	events, leave := l.station.Subscribe(1000)
	defer leave()
	request, err := breath(l.set.Supply.Limits())
	if err != nil {
		return err
	}
	if err := l.station.Start(request); err != nil {
		return err
	}
	for l.station.Snapshot().Tick < 3 { // by then the lid was seen open
		select {
		case <-l.ended:
			return errors.New("the Station ended before its third tick")
		case <-time.After(quickPeriod):
		}
	}
	l.pacer.slow.Store(true) // half a second goes by until it is energised
	l.lid.open.Store(false)
	l.calling.ring()
	for event := range events {
		switch {
		case event.Kind == controller.KindResult:
			return fmt.Errorf("the load ended as %v: %v, %v", event.Result.Outcome, event.Result.Trip, event.Result.Reasons)
		case event.State == process.ContactCheck.String():
			return nil
		}
	}
	return errors.New("the Station ended")
}

// stand opens a bench whose lid is open, and runs a Station on it.
func stand(ctx context.Context, o opening) (*lane, error) {
	f, err := front.Listen(front.Options{Setup: drawn().Setup})
	if err != nil {
		return nil, err
	}
	wire, err := newTap(f.SCPI())
	if err != nil {
		return nil, err
	}
	inputs, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		return nil, err
	}
	l := &lane{tap: wire, lid: &lidModule{}}
	l.lid.open.Store(true)
	l.calling = &callingLid{module: l.lid, rings: make(chan struct{}, 1)}
	ctx, cancel := context.WithCancel(ctx)
	servers := together(wire.serve, func() { _ = f.Serve(ctx) }, func() { _ = modbusserver.ServeTCP(ctx, inputs, l.lid) }) // they end with the context
	l.end = func() error {
		cancel()
		err := wire.listener.Close()
		servers()
		return err
	}
	text := strings.NewReplacer(f.SCPI(), wire.address(), f.Modbus(), "tcp://"+inputs.Addr().String()).Replace(f.BenchFile())
	if err := l.run(ctx, text, o); err != nil {
		return nil, errors.Join(err, l.end())
	}
	return l, nil
}

// run opens the bench and starts a Station on it.
func (l *lane) run(ctx context.Context, text string, o opening) error {
	file, err := profiles.ReadBench("virtual.yaml", []byte(text))
	if err != nil {
		return err
	}
	if l.set, err = bench.Open(ctx, file, nil); err != nil {
		return err
	}
	if l.pacer, err = newTracedPacer(); err != nil {
		return err
	}
	devices := controller.Devices{Interlock: l.set.Interlock, Simulated: true}
	devices.Supply, l.supply = traced(l.set.Supply)
	if o.calls {
		devices.Interlock = l.calling
	}
	l.station = controller.New(devices, l.pacer, forgetful{}, slog.New(slog.DiscardHandler), controller.Options{})
	running, stop := context.WithCancel(ctx)
	others := l.end
	l.ended = make(chan struct{})
	go func() {
		defer close(l.ended)
		_ = l.station.Run(running) // a stalled computer may not get its last off confirmed
	}()
	l.end = func() error {
		stop()
		<-l.ended
		_ = l.set.Close() // likewise
		return others()
	}
	return nil
}

// together runs them and returns what waits for all.
func together(all ...func()) (wait func()) {
	var group sync.WaitGroup
	for _, one := range all {
		group.Go(one)
	}
	return group.Wait
}

// drawn is the load of these lanes, and planned its plan: made once, since that takes the
// computer longer than all the rest of an opening.
var drawn = sync.OnceValue(func() campaign.Case {
	return campaign.Healthy(1, surface(), campaign.Spread{OwnCalibration: true})
})

var plans sync.Map // by the limits of the supply

func planned(r plan.Request) (plan.Plan, error) {
	if p, known := plans.Load(r.Supply); known {
		return p.(plan.Plan), nil
	}
	p, err := plan.Build(r)
	if err == nil {
		plans.Store(r.Supply, p)
	}
	return p, err
}

// breath is a load of a few volts for the bench of these lanes.
func breath(limits hal.Limits) (controller.Request, error) {
	r := drawn().Request
	r.Supply = plan.SupplyLimits{HighestVolts: limits.HighestVolts, HighestAmperes: limits.HighestAmperes,
		VoltStep: limits.VoltStep, AmpereStep: limits.AmpereStep}
	p, err := planned(r)
	return controller.Request{Plan: p, Profile: r.Profile, Rack: r.Rack, Metal: r.Metal, Bath: r.Bath, Calibration: r.Calibration}, err
}

// forgetful is a record that keeps nothing.
type forgetful struct{}

func (forgetful) Begin(context.Context, record.Intent) (string, error) { return "1", nil }
func (forgetful) Append(record.Row)                                    {}
func (forgetful) Note(record.Event)                                    {}
func (forgetful) Finish(context.Context, record.Result) error          { return nil }
