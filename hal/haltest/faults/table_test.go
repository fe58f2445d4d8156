package faults

import (
	"cmp"
	"context"
	"io"
	"log/slog"
	"math"
	"slices"
	"strconv"
	"sync"
	"sync/atomic"
	"testing"
	"testing/synctest"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"anodized/controller"
	"anodized/controller/fault"
	"anodized/controller/plan"
	"anodized/controller/record"
	"anodized/hal/virtual"
	"anodized/hal/virtual/plant"
)

// expected is what a fault must lead to. Codes are its own and those that it cannot be
// told from.
type expected struct {
	fault    string
	codes    []fault.Code
	within   float64 // s from the fault to the output going off; to the trip where it cannot
	shown    float64 // s from the fault to the snapshot that tells; 0: 2 s
	outcome  record.Outcome
	deaf     bool                 // the supply hears nothing: its output cannot be judged
	afterOff bool                 // the bound counts from the output going off
	moved    bool                 // it counts from when what flows has moved 3 mA from where the reading stands, and a second has passed
	on       []string             // the ways on which it makes sense; nil: all
	setup    func(*virtual.Setup) // what else the bench has
	stall    time.Duration        // the loop stands still for so long
	named    bool                 // a Modbus supply tells who it is
	hand     string               // in place of a fault of the timetable, what somebody does
	does     func(*rig)           // at that time of the bench
	at       time.Duration        // 0: 20.05 s
	linger   time.Duration        // how much longer the Station is watched
	flags    fault.Code           // a finding of a load that ends well
	then     func(*testing.T, *rig, seen)
}

var (
	wires    = []string{scpiTCP, scpiSerial, modbusTCP, modbusSerial}
	scpiWays = []string{inMemoryWay, scpiTCP, scpiSerial}
	long     = []string{scpiTCP, scpiSerial, modbusTCP}
	talking  = []string{inMemoryWay, scpiTCP, scpiSerial, modbusTCP, modbusSerial} // to an instrument; converters have rows of their own
)

const tripped, complete, refused = record.Tripped, record.Complete, record.Refused

// The bounds. A supply without a reading is switched off within 1.3 s, and the page says
// so by then, whether off is confirmed or not; others are on it within 2 s. What is asked
// once a second is found within that and two ticks; the lid and the stop are read in each
// tick.
const (
	silent   = 1.3
	asked    = 1.2
	eachTick = 0.2
	told     = 2.0
)

var linkLost = codes(fault.SupplySilent, fault.SupplyOutOfStep, fault.InterlockOpen)

func chain(s *virtual.Setup) { s.Chain = true }
func fan(s *virtual.Setup)   { s.Ventilation = true }

// slowly is an output that runs down in 20 s: 1000 uF into 20 kohm.
func slowly(s *virtual.Setup) {
	p := plant.Default()
	p.Output.Farads, p.Output.BleedOhms = 1e-3, 20e3
	s.Parameters = &p
}

var table = []expected{
	{fault: "supply-unplugged@20.05s", codes: codes(fault.SupplySilent), within: silent, deaf: true, outcome: tripped, on: talking},
	{fault: "supply-silent@20.05s", codes: codes(fault.SupplySilent), within: silent, shown: silent, outcome: tripped, on: talking},
	// on a line that it shares with the lid an answer that is later still costs a reading of the lid
	{fault: "late-reply@20.05s,size=0.4,for=100ms", outcome: complete, on: long},
	// every answer there: the lid waits behind those of the supply, and is open once it is too old, or the supply silent before
	{fault: "late-reply@20.05s,size=0.4,for=ever", codes: linkLost, within: silent, shown: silent, outcome: tripped, on: []string{modbusSerial}},
	// the instrument takes 0.6 s for each line: off waits behind one or two that came before
	{fault: "late-reply@20.05s,size=0.6,for=ever", codes: linkLost, within: silent + 1.2, shown: silent, outcome: tripped, on: wires},
	{fault: "garbage@20.05s,for=100ms", outcome: complete, on: wires},
	{fault: "garbage@20.05s,for=300ms", outcome: complete, on: talking}, // by every way alike: a spell of less than a second is got over
	{fault: "garbage@20.05s,for=ever", codes: linkLost, within: silent, shown: silent, outcome: tripped, on: talking},
	{fault: "cut-reply@20.05s,for=100ms", outcome: complete, on: wires},
	{fault: "cut-reply@20.05s,for=ever", codes: linkLost, within: silent, shown: silent, outcome: tripped, on: wires},
	{fault: "doubled-reply@20.05s,for=100ms", outcome: complete, on: wires},
	{fault: "merged-reply@20.05s,for=100ms", outcome: complete, on: wires},
	{fault: "merged-reply@20.05s,for=ever", codes: linkLost, within: silent, shown: silent, outcome: tripped, on: wires},
	{fault: "instrument-error@20.05s,size=-222", codes: codes(fault.SupplyDisobeys), within: asked, outcome: tripped, on: scpiWays},
	{fault: "instrument-error@20.05s,size=-113", codes: codes(fault.SupplyDisobeys), within: asked, outcome: tripped, on: scpiWays},
	{fault: "instrument-error@20.05s,size=-310", codes: codes(fault.SupplyDisobeys), within: asked, outcome: tripped, on: scpiWays},
	{fault: "setpoint-ignored@20.05s", codes: codes(fault.SupplyDisobeys), within: 0.5, outcome: tripped},
	{fault: "panel-touched@20.05s", codes: codes(fault.SupplyTouched), within: asked, outcome: tripped, on: talking},
	// the hand comes as the setting takes effect: on a slow line that is before it is read back
	{fault: "panel-touched@12V", codes: codes(fault.SupplyTouched, fault.SupplyDisobeys), within: asked, outcome: tripped, on: talking},
	{fault: "supply-restarted@12V", codes: codes(fault.SupplyRestarted), within: asked, outcome: tripped, on: talking},
	{fault: "panel-touched@hold+1s", codes: codes(fault.SupplyTouched), within: asked, outcome: tripped, on: talking},
	{fault: "output-touched@20.05s", codes: codes(fault.SupplyTouched, fault.SupplyNotFollowing), within: asked, outcome: tripped},
	{fault: "supply-restarted@20.05s", codes: codes(fault.SupplyRestarted), within: asked, outcome: tripped, on: talking},
	{fault: "supply-tripped@20.05s", codes: codes(fault.SupplyTripped), within: asked, outcome: tripped, on: talking},
	{fault: "output-stuck-on@hold", codes: codes(fault.OutputStuckOn), within: 2.5, afterOff: true, outcome: tripped},
	{fault: "readback-volts-gain@20.05s,size=1.0001", outcome: complete, setup: slowly}, // no alarm on a slow discharge
	{fault: "readback-volts-stuck@20.05s", codes: codes(fault.ReadbackStuck), within: 1.5, outcome: tripped},
	// with a mode that stands still too, which says on after it was switched off
	{fault: "readback-stuck@20.05s", codes: codes(fault.ReadbackStuck), within: 1.5, outcome: tripped},
	{fault: "readback-amperes-stuck@hold", codes: codes(fault.ReadbackStuck), within: 0.5, moved: true, outcome: tripped},
	{fault: "readback-amperes-stuck@hold+6s", codes: codes(fault.ReadbackStuck), within: 0.5, moved: true, outcome: tripped},
	{fault: "no-reading@20.05s", codes: codes(fault.SupplySilent), within: silent, shown: silent, outcome: tripped, on: talking},
	// the ramp has to go 0.3 V ahead, and then a mains dip, which comes back by itself, is waited for for 2 s
	{fault: "setpoint-not-followed@20.05s", codes: codes(fault.SupplyNotFollowing, fault.ReadbackStuck), within: 2.5, shown: 2.6, outcome: tripped},
	{fault: "setpoint-gain@20.05s,size=1.1", codes: codes(fault.OverVoltage), within: 0.3, outcome: tripped},
	{fault: "thermometer-stuck@20.05s", outcome: complete},
	{fault: "thermometer-stuck@20.05s,size=127.94", outcome: complete},
	{fault: "thermometer-stuck@20.05s,size=0.001", outcome: complete},
	{fault: "thermometer-silent@20.05s", outcome: complete},
	{fault: "interlock-open@20.05s", codes: codes(fault.InterlockOpen), within: eachTick, outcome: tripped},
	{fault: "interlock-bounce@20.05s", codes: codes(fault.InterlockOpen), within: eachTick, outcome: tripped},
	{fault: "interlock-disagrees@20.05s", codes: codes(fault.InterlockOpen, fault.InterlockDisagrees), within: 0.6, outcome: tripped},
	{fault: "interlock-gone@20.05s", codes: codes(fault.InterlockOpen), within: 0.85, outcome: tripped},
	{fault: "interlock-stuck-closed@start,part=all", outcome: refused},
	{fault: "emergency-stop@20.05s", codes: codes(fault.EmergencyStop), within: eachTick, outcome: tripped, setup: chain},
	{fault: "emergency-stop-gone@20.05s", codes: codes(fault.EmergencyStop), within: 0.85, outcome: tripped, setup: chain},
	{fault: "ventilation-lost@20.05s", codes: codes(fault.VentilationLost), within: 1.25, shown: 1.3, outcome: tripped, setup: fan},
	{fault: "ventilation-lost@20.05s,for=0.6s", outcome: complete, setup: fan},
	{fault: "ventilation-gone@20.05s", codes: codes(fault.VentilationLost), within: 1.75, shown: 1.8, outcome: tripped, setup: fan},
	{fault: "ventilation-lost@start", outcome: refused, setup: fan},
	{fault: "contactor-stuck-open@start", codes: codes(fault.ContactorStuck), outcome: refused, setup: chain},
	// 0.5 s after the drop, which clears the one-shot: the drop comes when the current is gone, 0.3 s after
	// off at the latest, and is known to be done in the next tick. Without a drop line it is 1.5 s after the
	// last pulse (TestWeldedContactorIsToldInTime).
	{fault: "contactor-welded@20.05s", codes: codes(fault.ContactorStuck), within: 1.0, afterOff: true, outcome: tripped, setup: chain},
	{fault: "readback-volts-gain@20.05s,size=1.0001", stall: 500 * time.Millisecond, outcome: complete},
	{fault: "readback-volts-gain@20.05s,size=1.0001", stall: 1500 * time.Millisecond, codes: codes(fault.ControlAbsent), within: 1.75, outcome: tripped},
}

func codes(all ...fault.Code) []fault.Code { return all }

// TestEveryDeviceFaultOnEveryWay puts each fault on each way to the supply where it
// makes sense, and holds the Station to the trip or finding of the fault or of one that
// looks like it, to its bound, to the output and to the record.
func TestEveryDeviceFaultOnEveryWay(t *testing.T) {
	_, err := surface()
	require.NoError(t, err)
	for _, want := range slices.Concat(table, wireRows, namedRows, lidRows, meterRows, boardRows) {
		for _, way := range ways {
			if want.on != nil && !slices.Contains(want.on, way) {
				continue
			}
			t.Run(want.name()+" over "+way, func(t *testing.T) {
				t.Parallel()
				synctest.Test(t, func(t *testing.T) { one(t, way, want) })
			})
		}
	}
}

// seen is what came of a fault.
type seen struct {
	result  record.Result
	began   float64 // s of the bench; below 0 where the fault never began
	tripped float64
	off     float64 // the output stage gave no more power
	due     float64 // what flows is 3 mA from where it was when the fault began, and a second has passed
	shown   *controller.Snapshot
	rows    int
}

func one(t *testing.T, way string, want expected) {
	setup := virtual.Setup{Seed: 3, Parts: spacerParts()}
	if want.fault != "" {
		f, err := virtual.ParseFault(want.fault)
		require.NoError(t, err)
		setup.Faults = []virtual.Fault{f}
	}
	if want.setup != nil {
		want.setup(&setup)
	}
	r := standAs(t, way, setup, least{}, want.named)
	defer r.close()
	r.wake(setup.Faults)
	r.later(cmp.Or(want.at, happens), want.does)
	r.linger = want.linger
	s := through(t, r, want.stall)
	code := fault.Code("none")
	if s.result.Trip != nil {
		code = s.result.Trip.Code
	}
	t.Logf("| %s | %s | %s %s | off %s | told %s | %s |", want.name(), way, s.result.Outcome, code, since(s.off, s.began), since(s.tripped, s.began), s.result.Output)
	if want.at > 0 && s.result.Outcome == complete {
		assert.True(t, r.overwrites(), "nobody saw the hand")
		return
	}
	assert.Equal(t, want.outcome, s.result.Outcome, "%v %v", s.result.Trip, s.result.Reasons)
	if want.codes != nil {
		assert.Contains(t, want.codes, code)
	}
	if want.outcome == tripped {
		want.judge(t, s, code)
	}
	if want.flags != "" {
		assert.True(t, slices.ContainsFunc(s.result.Findings, func(f fault.Finding) bool { return f.Code == want.flags }), "%v", s.result.Findings)
	}
	if want.then != nil {
		want.then(t, r, s)
	}
}

func (e expected) name() string {
	name := cmp.Or(e.hand, e.fault)
	if e.stall > 0 {
		name = "the loop stands still for " + e.stall.String()
	}
	if e.named {
		name += ", who can say who it is"
	}
	return name
}

func since(at, began float64) string {
	if at < began || began < 0 {
		return "-"
	}
	return strconv.FormatFloat(at-began, 'f', 2, 64) + " s"
}

func (e expected) judge(t *testing.T, s seen, code fault.Code) {
	t.Helper()
	require.GreaterOrEqual(t, s.began, 0.0, "the fault began")
	from, judged := s.began, s.off
	if e.afterOff {
		from, judged = s.off, s.tripped
	}
	if e.deaf {
		judged = s.tripped
	}
	if e.moved {
		require.Positive(t, s.due)
		from = min(s.due, judged) // the reading may have stood a tick before it was stuck
	}
	assert.GreaterOrEqual(t, judged, from)
	assert.LessOrEqual(t, judged-from, e.within)
	if !e.afterOff {
		assert.LessOrEqual(t, s.tripped-s.began, cmp.Or(e.shown, told))
	}
	named := slices.IndexFunc(s.result.Findings, func(f fault.Finding) bool { return f.Code == code })
	if assert.GreaterOrEqual(t, named, 0, "the record names its first cause") {
		assert.NotEmpty(t, s.result.Findings[named].Evidence)
	}
	assert.Positive(t, s.rows)
	assert.Contains(t, []string{"on", "off", "unknown"}, s.result.Output, "the record tells of the output")
}

// through runs one load with a fault and watches it tick by tick.
func through(t *testing.T, r *rig, stall time.Duration) seen {
	s := seen{began: -1, tripped: -1, off: -1}
	kept := &shelf{}
	watching := &watchedPace{Pacer: r.pacer, rig: r, seen: &s, stall: stall}
	pacer := controller.Pacer(watching)
	if clock, has := r.pacer.(timepiece); has {
		pacer = clocked{watching, clock}
	}
	station := controller.New(r.devices, pacer, kept, slog.New(slog.NewTextHandler(io.Discard, nil)), r.options)
	watching.station = station
	r.station.Store(station)
	ctx, cancel := context.WithTimeout(context.Background(), 20*time.Minute)
	defer cancel()
	events, leave := station.Subscribe(10000)
	defer leave()
	ended := make(chan error, 1)
	require.NoError(t, station.Start(controller.Request{Plan: straw(t, r)}))
	go func() { ended <- station.Run(ctx) }()
	for ev := range events {
		if ev.Kind == controller.KindResult {
			s.result = *ev.Result
			break
		}
	}
	if r.linger > 0 {
		<-time.After(r.linger)
	}
	s.shown, s.rows = station.Snapshot(), kept.rows
	cancel()
	<-ended // a supply that does not answer cannot confirm its off
	watching.looking.Wait()
	if at := watching.noticed.Load(); at > 0 {
		s.tripped = time.Duration(at).Seconds()
	}
	if truth := r.bench.Truth(); s.off < 0 && truth.OffAt >= s.began {
		s.off = truth.OffAt
	}
	return s
}

// clocked is a pacer that also has the time within a tick, and can be called out of it.
type clocked struct {
	*watchedPace
	timepiece
}

// timepiece is what a ticker is beside a pacer.
type timepiece interface {
	controller.Clock
	controller.Hastener
}

// watchedPace looks, before each tick, at what the last one came to.
type watchedPace struct {
	controller.Pacer
	rig     *rig
	station *controller.Station
	seen    *seen
	stall   time.Duration // once, when the fault has begun
	truth   virtual.Truth
	stood   float64 // A, what flowed before the fault began
	looking sync.WaitGroup
	noticed atomic.Int64 // ns of the bench: when who looks at the snapshot saw the trip; 0: not yet
}

// lookOn looks at the snapshot as a page does, whatever the loop waits for.
func (w *watchedPace) lookOn(ctx context.Context) {
	look := time.NewTicker(10 * time.Millisecond)
	defer look.Stop()
	for w.station.Snapshot().Trip == nil {
		select {
		case <-look.C:
		case <-ctx.Done():
			return
		}
	}
	w.noticed.Store(int64(w.rig.elapsed()))
}

func (w *watchedPace) Next(ctx context.Context) (time.Time, error) {
	w.rig.bench.TruthInto(&w.truth)
	now := w.truth.Seconds
	if w.rig.front != nil {
		now = w.rig.elapsed().Seconds()
	}
	if w.seen.began >= 0 && w.seen.off < 0 && w.truth.OffAt >= w.seen.began {
		w.seen.off = w.truth.OffAt
	}
	for _, f := range w.truth.Faults {
		if f.Fault.ID == w.rig.setup.Faults[0].ID {
			w.begin(ctx, f.Since)
		}
	}
	if at := time.Duration(w.rig.did.Load()); at > 0 {
		w.begin(ctx, at)
	}
	if w.seen.tripped < 0 && w.station.Snapshot().Trip != nil {
		w.seen.tripped = now
	}
	w.follow(now)
	if w.stall > 0 && w.seen.began >= 0 {
		w.stand(ctx)
	}
	return w.Pacer.Next(ctx)
}

// follow notes when what flows has left the reading of the moment in which it went wrong.
func (w *watchedPace) follow(now float64) {
	amperes := w.truth.Amperes
	if w.seen.began < 0 {
		w.stood = amperes
	}
	if w.seen.began >= 0 && w.seen.due == 0 && now >= w.seen.began+1-1e-9 && math.Abs(amperes-w.stood) > 0.003 {
		w.seen.due = now
	}
}

// begin notes when the first thing went wrong.
func (w *watchedPace) begin(ctx context.Context, at time.Duration) {
	if w.seen.began >= 0 {
		return
	}
	w.seen.began = at.Seconds()
	if w.rig.front != nil {
		w.looking.Go(func() { w.lookOn(ctx) })
	}
}

// stand lets the loop stand still, and time go on.
func (w *watchedPace) stand(ctx context.Context) {
	stood := time.NewTimer(w.stall)
	defer stood.Stop()
	select {
	case <-stood.C:
	case <-ctx.Done():
	}
	if w.rig.front == nil {
		w.rig.bench.AdvanceTo(w.rig.bench.Now().Sub(virtual.Epoch) + w.stall)
	}
	w.stall = 0
}

// straw is a load of 20 V.
func straw(t *testing.T, r *rig) plan.Plan {
	t.Helper()
	film, err := surface()
	require.NoError(t, err)
	limits := r.devices.Supply.Limits()
	request := spacerRequest(film, 20, 1, 0.3)
	request.Supply = plan.SupplyLimits{HighestVolts: limits.HighestVolts, HighestAmperes: limits.HighestAmperes, VoltStep: limits.VoltStep, AmpereStep: limits.AmpereStep}
	p, err := plan.Build(request)
	require.NoError(t, err)
	return p
}
