package faults

import (
	"context"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"anodized/controller"
	far "anodized/hal/haltest/stand"
	"anodized/hal/modbus"
	"anodized/hal/scpi"
	"anodized/hal/virtual"
	"anodized/hal/virtual/front"
)

// The ways to a supply. All of them run in a bubble of simulated time, the real drivers
// at one end of a line in memory and the instruments of the virtual bench at the other,
// each byte in its time on the serial ones.
const (
	inMemoryWay   = "in memory"
	scpiTCP       = "SCPI, TCP"
	scpiSerial    = "SCPI, serial"
	modbusTCP     = "Modbus, TCP"
	modbusSerial  = "Modbus RTU"
	converters    = "analogue, GPIO"
	lineBaud      = 115200
	tick          = 100 * time.Millisecond
	scpiTimeout   = 300 * time.Millisecond
	modbusTimeout = 120 * time.Millisecond // the lid hangs on the same line: twice this must end before its half second
	rtuGap        = 1750 * time.Microsecond
	settling      = 150 * time.Millisecond
)

var ways = []string{inMemoryWay, scpiTCP, scpiSerial, modbusTCP, modbusSerial, converters}

// rig is a bench in a bubble, open.
type rig struct {
	t       *testing.T
	bench   *virtual.Bench
	began   time.Time
	devices controller.Devices
	pacer   controller.Pacer
	options controller.Options
	least   least

	setup      virtual.Setup
	did        atomic.Int64                       // ns of the bench: when somebody did something; 0: not yet
	station    atomic.Pointer[controller.Station] // once its load has been asked for
	released   chan struct{}                      // what is held is let go at the end
	named      bool                               // a Modbus supply tells who it is
	linger     time.Duration                      // how much longer the Station is watched than its load lasts
	heard      int                                // questions before somebody was there again
	supply     *far.Plug                          // of the supply; nil in memory and behind converters
	instrument func(*front.Front) far.Instrument  // what is put there in its place
	plugs      []*far.Plug                        // all of them
	board      *far.Board                         // nil but behind converters
	bath       *far.Bath
	front      *front.Front
	closing    []func()
	ctx        context.Context
	end        context.CancelFunc
	serving    sync.WaitGroup
}

// least is what a Modbus supply is set to at least.
type least struct{ volts, amperes float64 }

// stand opens a bench by one of the ways. It must be closed before its bubble ends.
func stand(t *testing.T, way string, setup virtual.Setup) *rig {
	return standFrom(t, way, setup, least{})
}

func standFrom(t *testing.T, way string, setup virtual.Setup, from least) *rig {
	return standAs(t, way, setup, from, false)
}

func standAs(t *testing.T, way string, setup virtual.Setup, from least, named bool) *rig {
	t.Helper()
	r := &rig{t: t, began: time.Now(), least: from, setup: setup, named: named, released: make(chan struct{})}
	r.ctx, r.end = context.WithCancel(context.Background())
	if way == inMemoryWay {
		r.embed(setup)
		return r
	}
	f, err := front.Stand(front.Options{Setup: setup, Elapsed: r.elapsed, Baud: lineBaud, LeastVolts: from.volts, LeastAmperes: from.amperes})
	require.NoError(t, err)
	r.front, r.bench = f, f.Bench()
	map[string]func(){scpiTCP: r.scpiOverTCP, scpiSerial: r.scpiOnALine, modbusTCP: r.modbusOverTCP, modbusSerial: r.modbusOnALine,
		converters: r.converters}[way]()
	r.devices.Simulated = true
	r.devices.Identity, err = r.devices.Supply.Identify(r.ctx)
	require.NoError(t, err)
	r.pacer, err = controller.NewTicker(tick)
	require.NoError(t, err)
	return r
}

func (r *rig) elapsed() time.Duration { return time.Since(r.began) }

func (r *rig) close() {
	close(r.released)
	for i := len(r.closing) - 1; i >= 0; i-- {
		r.closing[i]()
	}
	r.end()
	r.serving.Wait()
}

// embed is the bench as devices in memory, paced as fast as simulated time goes.
func (r *rig) embed(setup virtual.Setup) {
	setup.PersonStays, setup.Speed = true, 1
	b, err := virtual.New(setup)
	require.NoError(r.t, err)
	identity, err := b.Supply().Identify(r.ctx)
	require.NoError(r.t, err)
	r.bench, r.pacer = b, b
	r.options = controller.Options{ClockWaits: true}
	r.devices = controller.Devices{Supply: b.Supply(), Interlock: b.Interlock(), Thermometer: b.Thermometer(), Contactor: b.Contactor(),
		EmergencyStop: b.EmergencyStop(), Ventilation: b.Ventilation(), Voltmeter: b.Voltmeter(), Simulated: true, Identity: identity}
}

func (r *rig) serve(do func(context.Context) error) {
	r.serving.Go(func() { r.report(do(r.ctx)) })
}

func (r *rig) report(err error) {
	if err != nil {
		r.t.Errorf("the virtual bench: %v", err)
	}
}

// plug is a plug that is pulled at the end.
func (r *rig) plug(instrument far.Instrument, tap *far.Tap) *far.Plug {
	p := far.NewPlug(instrument, tap)
	r.plugs = append(r.plugs, p)
	r.closing = append(r.closing, p.Pull)
	return p
}

func (r *rig) room(serve func(context.Context, *far.Room) error) *far.Room {
	room := far.NewRoom()
	r.serve(func(ctx context.Context) error { return serve(ctx, room) })
	return room
}

func (r *rig) scpiRoom(f *front.Front) far.Instrument {
	return r.room(func(ctx context.Context, room *far.Room) error { return f.SCPIAt(ctx, room) })
}

func (r *rig) modbusRoom(f *front.Front) far.Instrument {
	return r.room(func(ctx context.Context, room *far.Room) error { return f.ModbusAt(ctx, room) })
}

// line is an instrument on serial lines, which ends with the rig.
func (r *rig) line(serve func(context.Context, *far.End) error) far.Instrument {
	return far.Line(func(end *far.End) { r.serving.Add(1); defer r.serving.Done(); r.report(serve(r.ctx, end)) })
}

func (r *rig) scpiLine(f *front.Front) far.Instrument {
	return r.line(func(ctx context.Context, end *far.End) error { return f.SCPIOn(ctx, end) })
}

func (r *rig) rtuLine(f *front.Front) far.Instrument {
	return r.line(func(ctx context.Context, end *far.End) error { return f.RTUOn(ctx, end) })
}

func (r *rig) scpiOverTCP() {
	r.instrument = r.scpiRoom
	r.supply = r.plug(r.scpiRoom(r.front), far.SCPITap())
	r.openSCPI(false)
	r.lidOverTCP()
}

func (r *rig) scpiOnALine() {
	r.instrument = r.scpiLine
	r.supply = r.plug(r.scpiLine(r.front), far.SCPITap())
	r.openSCPI(true)
	r.lidOverTCP()
}

func (r *rig) openSCPI(keep bool) {
	limits := r.bench.Supply().Limits()
	redial := func(ctx context.Context) (scpi.Transport, error) { return dialled(r.supply.Dial(ctx)) }
	transport, err := redial(r.ctx)
	require.NoError(r.t, err)
	supply, err := scpi.Open(r.ctx, scpi.Options{Transport: transport, Redial: redial, KeepOpen: keep,
		Dialect: scpi.Dialect{Compound: true, OPC: true, Status: "questionable", Settle: settling, Timeout: scpiTimeout,
			DecimalsV: 2, DecimalsA: 3, MainsReturn: "halted"},
		HighestVolts: limits.HighestVolts, HighestAmperes: limits.HighestAmperes})
	require.NoError(r.t, err)
	r.devices.Supply = supply.WithAbilities()
}

// dialled is nothing where there was an error, and no typed nothing.
func dialled(end *far.End, err error) (modbus.Transport, error) {
	if err != nil {
		return nil, err
	}
	return end, nil
}

// bus is a Modbus line through a plug.
func (r *rig) bus(plug *far.Plug, framing modbus.Framing, gap time.Duration) *modbus.Line {
	line, err := modbus.NewLine(modbus.LineOptions{Framing: framing, Gap: gap,
		Dial: func(ctx context.Context) (modbus.Transport, error) { return dialled(plug.Dial(ctx)) }})
	require.NoError(r.t, err)
	return line
}

func (r *rig) lidOverTCP() {
	r.openModule(r.bus(r.plug(r.modbusRoom(r.front), far.TCPTap()), modbus.TCP, 0))
}

func (r *rig) modbusOverTCP() {
	r.instrument = r.modbusRoom
	r.supply = r.plug(r.modbusRoom(r.front), far.TCPTap())
	r.openModbus(r.bus(r.supply, modbus.TCP, 0))
	r.lidOverTCP()
}

func (r *rig) modbusOnALine() {
	r.instrument = r.rtuLine
	r.supply = r.plug(r.rtuLine(r.front), far.RTUTap())
	line := r.bus(r.supply, modbus.RTU, rtuGap)
	r.openModbus(line)
	r.openModule(line)
}

func (r *rig) openModbus(line *modbus.Line) {
	limits := r.bench.Supply().Limits()
	volts, amperes := float64(limits.HighestVolts), float64(limits.HighestAmperes)
	supply, err := modbus.OpenSupply(r.ctx, modbus.SupplyOptions{Line: line, Unit: front.SupplyUnit, Timeout: modbusTimeout, Loopback: true, Identification: r.named,
		Map: modbus.Map{
			SetpointVoltage: modbus.Quantity{Table: "holding", Address: 0, Type: "u16", Scale: 0.01, Min: r.least.volts, Max: volts},
			SetpointCurrent: modbus.Quantity{Table: "holding", Address: 1, Type: "u16", Scale: 0.01, Min: r.least.amperes, Max: amperes},
			Output:          modbus.Output{Table: "holding", Address: 2, Energised: 1},
			MeasuredVoltage: modbus.Quantity{Table: "input", Address: 0x100, Type: "u32", Order: "high_first", Scale: 0.001, Min: -1, Max: 1.2*volts + 1},
			MeasuredCurrent: modbus.Quantity{Table: "input", Address: 0x102, Type: "i32", Order: "high_first", Scale: 0.0001, Min: -1, Max: 1.2*amperes + 1},
			Status:          &modbus.Status{Table: "input", Address: 0x104, CV: 0, CC: 1, Energised: 8, Tripped: []int{4, 5, 6}},
		},
		Settle: settling, MainsReturn: "halted", HighestVolts: limits.HighestVolts, HighestAmperes: limits.HighestAmperes})
	require.NoError(r.t, err)
	r.devices.Supply = supply
}

// openModule opens what hangs on a remote module: lid switch and bath thermometer, and
// chain and voltmeter where the bench has them.
func (r *rig) openModule(line *modbus.Line) {
	lid, err := modbus.New(modbus.Options{Line: line, Unit: front.LidUnit, Inputs: [2]int{0, 1}, Loopback: true})
	require.NoError(r.t, err)
	r.devices.Interlock = lid
	bath, err := modbus.NewThermometer(modbus.ThermometerOptions{Line: line, Unit: front.LidUnit, Loopback: true,
		Register: modbus.Quantity{Table: "input", Address: 0, Type: "i16", Scale: 0.1, Min: -20, Max: 130}})
	require.NoError(r.t, err)
	r.serving.Go(func() { bath.Watch(r.ctx) })
	r.devices.Thermometer = bath
	if r.setup.Chain {
		r.openChain(line)
	}
	if r.setup.Ventilation {
		fan, err := modbus.NewVentilation(modbus.VentilationOptions{Line: line, Unit: front.LidUnit, Loopback: true, Input: virtual.AirInput})
		require.NoError(r.t, err)
		r.devices.Ventilation = fan
	}
	if r.setup.Voltmeter {
		meter, err := modbus.NewVoltmeter(modbus.VoltmeterOptions{Line: line, Unit: front.LidUnit, Loopback: true,
			Register: modbus.Quantity{Table: "input", Address: 0x10, Type: "i32", Order: "high_first", Scale: 0.001, Min: -10, Max: 145}})
		require.NoError(r.t, err)
		r.serving.Go(func() { meter.Watch(r.ctx) })
		r.devices.Voltmeter = meter
	}
}

func (r *rig) openChain(line *modbus.Line) {
	contactor, err := modbus.NewContactor(modbus.ContactorOptions{Line: line, Unit: front.LidUnit, Loopback: true,
		Pulse: virtual.PulseCoil, Drop: virtual.DropCoil, Feedback: virtual.MirrorInput})
	require.NoError(r.t, err)
	require.NoError(r.t, contactor.Halt())
	stop, err := modbus.NewEmergencyStop(modbus.StopOptions{Line: line, Unit: front.LidUnit, Loopback: true,
		Inputs: []int{virtual.StopInput, virtual.StopInput + 1}})
	require.NoError(r.t, err)
	r.devices.Contactor, r.devices.EmergencyStop = contactor, stop
}

// happens is when things are done by hand.
const happens = 20050 * time.Millisecond

// after lets something be done so long after the bench began; not where the rig ends before.
func (r *rig) after(d time.Duration, do func()) {
	r.serving.Go(func() {
		timer := time.NewTimer(d - r.elapsed())
		defer timer.Stop()
		select {
		case <-timer.C:
			do()
		case <-r.ctx.Done():
		}
	})
}

func (r *rig) later(at time.Duration, do func(*rig)) {
	if do != nil {
		r.after(at, func() { r.did.Store(int64(r.elapsed())); do(r) })
	}
}

// wake has the bench come to where a short fault begins, and ends: what can call does so then.
func (r *rig) wake(faults []virtual.Fault) {
	for _, f := range faults {
		if r.board != nil && f.For > 0 && f.For < time.Second {
			for _, at := range []time.Duration{happens, happens + f.For} {
				r.after(at, func() { r.bench.Exchange(r.elapsed(), func() {}) })
			}
		}
	}
}
