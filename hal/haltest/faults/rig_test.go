package faults

import (
	"context"
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"anodized/controller"
	"anodized/hal"
	"anodized/hal/modbus"
	"anodized/hal/scpi"
	"anodized/hal/virtual"
	"anodized/hal/virtual/front"
	"anodized/hal/virtual/pty"
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
	lineBaud      = 115200
	tick          = 100 * time.Millisecond
	scpiTimeout   = 300 * time.Millisecond
	modbusTimeout = 120 * time.Millisecond // the lid hangs on the same line: twice this must end before its half second
	rtuGap        = 1750 * time.Microsecond
	settling      = 150 * time.Millisecond
)

var ways = []string{inMemoryWay, scpiTCP, scpiSerial, modbusTCP, modbusSerial}

// rig is a bench in a bubble, open.
type rig struct {
	t       *testing.T
	bench   *virtual.Bench
	began   time.Time
	devices controller.Devices
	pacer   controller.Pacer
	options controller.Options
	least   least

	front   *front.Front
	ctx     context.Context
	end     context.CancelFunc
	serving sync.WaitGroup
}

// least is what a Modbus supply is set to at least.
type least struct{ volts, amperes float64 }

// stand opens a bench by one of the ways. It must be closed before its bubble ends.
func stand(t *testing.T, way string, setup virtual.Setup) *rig { return standFrom(t, way, setup, least{}) }

func standFrom(t *testing.T, way string, setup virtual.Setup, from least) *rig {
	t.Helper()
	r := &rig{t: t, began: time.Now(), least: from}
	r.ctx, r.end = context.WithCancel(context.Background())
	if way == inMemoryWay {
		r.embed(setup)
		return r
	}
	f, err := front.Stand(front.Options{Setup: setup, Elapsed: r.elapsed, Baud: lineBaud, LeastVolts: from.volts, LeastAmperes: from.amperes})
	require.NoError(t, err)
	r.front, r.bench = f, f.Bench()
	map[string]func(){scpiTCP: r.scpiOverTCP, scpiSerial: r.scpiOnALine, modbusTCP: r.modbusOverTCP, modbusSerial: r.modbusOnALine}[way]()
	r.devices.Simulated = true
	r.devices.Identity, err = r.devices.Supply.Identify(r.ctx)
	require.NoError(t, err)
	r.pacer, err = controller.NewTicker(tick)
	require.NoError(t, err)
	if setup.Chain {
		r.devices.Contactor, r.devices.EmergencyStop = current{r.bench, r.elapsed}.contactor(), current{r.bench, r.elapsed}.stop()
	}
	return r
}

func (r *rig) elapsed() time.Duration { return time.Since(r.began) }

func (r *rig) close() {
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
		EmergencyStop: b.EmergencyStop(), Simulated: true, Identity: identity}
}

func (r *rig) serve(do func(context.Context) error) {
	r.serving.Go(func() {
		if err := do(r.ctx); err != nil {
			r.t.Errorf("the virtual bench: %v", err)
		}
	})
}

// caller dials a listener in memory, one connection at a time.
type caller struct {
	room *exchangeRoom
	line *end
}

func (c *caller) dial(ctx context.Context) (*end, error) {
	if c.line != nil {
		if err := c.line.Close(); err != nil {
			return nil, err
		}
	}
	var err error
	c.line, err = c.room.dial(ctx)
	return c.line, err
}

func (r *rig) caller(serve func(context.Context, *exchangeRoom) error) *caller {
	c := &caller{room: newExchangeRoom()}
	r.serve(func(ctx context.Context) error { return serve(ctx, c.room) })
	r.serving.Go(func() { // who calls hangs up at the end
		<-r.ctx.Done()
		if c.line != nil {
			_ = c.line.Close() // a cable in memory can always be pulled
		}
	})
	return c
}

func (r *rig) serial(serve func(context.Context, pty.Stream) error) *end {
	line := newCable()
	r.serve(func(ctx context.Context) error { return serve(ctx, line.far) })
	return line.near
}

func (r *rig) scpiOverTCP() {
	c := r.caller(func(ctx context.Context, room *exchangeRoom) error { return r.front.SCPIAt(ctx, room) })
	transport, err := c.dial(r.ctx)
	require.NoError(r.t, err)
	r.openSCPI(transport, func(ctx context.Context) (scpi.Transport, error) { return c.dial(ctx) }, false)
	r.lidOverTCP()
}

func (r *rig) scpiOnALine() {
	line := r.serial(r.front.SCPIOn)
	r.openSCPI(line, func(context.Context) (scpi.Transport, error) { return line, nil }, true)
	r.lidOverTCP()
}

func (r *rig) openSCPI(transport scpi.Transport, redial scpi.Redial, keep bool) {
	limits := r.bench.Supply().Limits()
	supply, err := scpi.Open(r.ctx, scpi.Options{Transport: transport, Redial: redial, KeepOpen: keep,
		Dialect: scpi.Dialect{Compound: true, OPC: true, Status: "questionable", Settle: settling, Timeout: scpiTimeout,
			DecimalsV: 2, DecimalsA: 3, MainsReturn: "halted"},
		HighestVolts: limits.HighestVolts, HighestAmperes: limits.HighestAmperes})
	require.NoError(r.t, err)
	r.devices.Supply = supply.WithAbilities()
}

func (r *rig) overTCP() *modbus.Line {
	c := r.caller(func(ctx context.Context, room *exchangeRoom) error { return r.front.ModbusAt(ctx, room) })
	line, err := modbus.NewLine(modbus.LineOptions{Framing: modbus.TCP, Dial: func(ctx context.Context) (modbus.Transport, error) { return c.dial(ctx) }})
	require.NoError(r.t, err)
	return line
}

func (r *rig) lidOverTCP() { r.openModule(r.overTCP()) }

func (r *rig) modbusOverTCP() {
	r.openModbus(r.overTCP())
	r.lidOverTCP()
}

func (r *rig) modbusOnALine() {
	end := r.serial(r.front.RTUOn)
	line, err := modbus.NewLine(modbus.LineOptions{Framing: modbus.RTU, Gap: rtuGap, Dial: func(context.Context) (modbus.Transport, error) { return end, nil }})
	require.NoError(r.t, err)
	r.openModbus(line)
	r.openModule(line)
}

func (r *rig) openModbus(line *modbus.Line) {
	limits := r.bench.Supply().Limits()
	volts, amperes := float64(limits.HighestVolts), float64(limits.HighestAmperes)
	supply, err := modbus.OpenSupply(r.ctx, modbus.SupplyOptions{Line: line, Unit: front.SupplyUnit, Timeout: modbusTimeout, Loopback: true,
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

// openModule opens lid switch and bath thermometer on a remote module.
func (r *rig) openModule(line *modbus.Line) {
	lid, err := modbus.New(modbus.Options{Line: line, Unit: front.LidUnit, Inputs: [2]int{0, 1}, Loopback: true})
	require.NoError(r.t, err)
	r.devices.Interlock = lid
	bath, err := modbus.NewThermometer(modbus.ThermometerOptions{Line: line, Unit: front.LidUnit, Loopback: true,
		Register: modbus.Quantity{Table: "input", Address: 0, Type: "i16", Scale: 0.1, Min: -20, Max: 130}})
	require.NoError(r.t, err)
	r.serving.Go(func() { bath.Watch(r.ctx) })
	r.devices.Thermometer = bath
}

// current are devices of the chain in memory, beside a bench that moves when it is asked.
type current struct {
	bench *virtual.Bench
	now   func() time.Duration
}

type currentContactor struct {
	hal.Contactor
	current
}

type currentStop struct {
	hal.EmergencyStop
	current
}

func (c current) contactor() hal.Contactor { return currentContactor{c.bench.Contactor(), c} }
func (c current) stop() hal.EmergencyStop  { return currentStop{c.bench.EmergencyStop(), c} }

func (c currentContactor) Beat() error {
	c.bench.AdvanceTo(c.now())
	return c.Contactor.Beat()
}

func (c currentContactor) Halt() error {
	c.bench.AdvanceTo(c.now())
	return c.Contactor.Halt()
}

func (c currentContactor) Closed(ctx context.Context) (bool, error) {
	c.bench.AdvanceTo(c.now())
	return c.Contactor.Closed(ctx)
}

// Contacts tells when it was read by the clock of the computer, as its bench does not know it.
func (c currentStop) Contacts(ctx context.Context) (hal.Channels, error) {
	c.bench.AdvanceTo(c.now())
	channels, err := c.EmergencyStop.Contacts(ctx)
	channels.At = time.Now()
	return channels, err
}
