package front

import (
	"fmt"
	"math"
	"strconv"
	"strings"
	"time"

	"anodized/hal/virtual"
	"anodized/hal/virtual/scpiserver"
)

// leastSettle is what a controller should wait for even where the meter has no lag.
const leastSettle = 50 * time.Millisecond

// BenchFile is the text of a bench file for this bench. The supply is reached by the
// Modbus line where there is one, else by Modbus over TCP, else by its serial line, else
// by its port; on the Modbus line hang the lid and the thermometer too.
func (f *Front) BenchFile() string {
	b := &text{}
	b.line("# SIMULATED: a virtual bench, seed %d. Nothing real hangs on it.", f.options.Setup.Seed)
	b.line("supply:")
	switch {
	case f.lines.rtu != nil:
		f.modbusSupply(b, f.RTU())
	case f.lines.modbus != nil:
		f.modbusSupply(b, f.ModbusSupply())
	case f.lines.scpi != nil:
		f.scpiSupply(b, f.SCPISerial())
	default:
		f.scpiSupply(b, f.SCPI())
	}
	f.inputs(b)
	return b.String()
}

type text struct{ strings.Builder }

func (t *text) line(format string, values ...any) { fmt.Fprintf(t, format+"\n", values...) }

func (f *Front) scpiSupply(b *text, address string) {
	limits := f.bench.Supply().Limits()
	b.line("  driver: scpi")
	b.line("  address: %s", address)
	b.line("  highest voltage: %v V", float64(limits.HighestVolts))
	b.line("  highest current: %v A", float64(limits.HighestAmperes))
	b.line("  dialect:")
	b.line("    status: %s", f.statusKey())
	b.line("    settle: %d ms", f.settle())
	b.line("    decimals_v: %d", decimals(float64(limits.VoltStep)))
	b.line("    decimals_a: %d", decimals(float64(limits.AmpereStep)))
	b.line("    mains_return: halted")
	if after := f.options.Setup.LostHost; after > 0 {
		b.line("    lost_host_switch: OUTP:PROT:WDOG")
		b.line("    lost_host_delay: OUTP:PROT:WDOG:DEL")
		b.line("    lost_host_after: %v", after)
	}
}

func (f *Front) settle() int64 {
	return max(f.bench.Supply().Limits().Settle, leastSettle).Milliseconds()
}

// modbusTimeout is that of the bench file: far above what the bench takes at 9600 bits a
// second, and far below the second that a run may go without readings.
const modbusTimeout = 250 * time.Millisecond

func (f *Front) modbusSupply(b *text, address string) {
	limits := f.bench.Supply().Limits()
	volts, amperes := float64(limits.HighestVolts), float64(limits.HighestAmperes)
	b.line("  driver: modbus")
	b.line("  address: %s", address)
	b.line("  unit: %d", SupplyUnit)
	b.line("  highest voltage: %v V", volts)
	b.line("  highest current: %v A", amperes)
	b.line("  timeout: %d ms", modbusTimeout.Milliseconds())
	b.line("  loopback: true")
	b.line("  settle: %d ms", f.settle())
	b.line("  mains return: halted")
	b.line("  map:")
	b.line("    setpoint_voltage: {table: holding, address: 0x%04X, type: u16, scale: 0.01 V, min: %v V, max: %v V}", volts10mV, f.options.LeastVolts, volts)
	b.line("    setpoint_current: {table: holding, address: 0x%04X, type: u16, scale: 0.01 A, min: %v A, max: %v A}", amperes10mA, f.options.LeastAmperes, amperes)
	b.line("    output: {table: holding, address: 0x%04X, type: u16, energised: 1, halted: 0}", output)
	b.line("    measured_voltage: {table: input, address: 0x%04X, type: u32, order: high_first, scale: 0.001 V, min: -1 V, max: %s V}", firstReading, above(volts))
	b.line("    measured_current: {table: input, address: 0x%04X, type: i32, order: high_first, scale: 0.0001 A, min: -1 A, max: %s A}", firstReading+2, above(amperes))
	b.line("    status: {table: input, address: 0x%04X, type: bits, cv: %d, cc: %d, tripped: [%d, %d, %d], energised: %d}", statusWord,
		bitVoltage, bitCurrent, bitOvervoltage, bitOvercurrent, bitOvertemperature, bitOn)
}

// above is what can be measured of something that can be set.
func above(highest float64) string {
	return strconv.FormatFloat(math.Ceil(1.2*highest+1), 'f', -1, 64)
}

func (f *Front) inputs(b *text) {
	address, unit := f.Modbus(), InterlockUnit
	if f.lines.rtu != nil {
		address, unit = f.RTU(), LidUnit
	}
	b.line("interlock:")
	b.line("  driver: modbus")
	b.line("  address: %s", address)
	b.line("  unit: %d", unit)
	b.line("  inputs: [0, 1]")
	if f.lines.rtu != nil {
		b.line("  loopback: true")
		b.module("bath temperature", address, unit)
		b.line("  loopback: true")
		b.line("  register: {table: input, address: 0x%04X, type: i16, scale: 0.1 °C, min: -20 °C, max: 110 °C}", warmth01C)
	}
	f.remote(b, address, unit)
}

// module begins an entry for what hangs on the remote module.
func (t *text) module(entry, address string, unit int) {
	t.line("%s:", entry)
	t.line("  driver: modbus")
	t.line("  address: %s", address)
	t.line("  unit: %d", unit)
}

// remote are the devices of the remote module that the bench has when it is asked to.
func (f *Front) remote(b *text, address string, unit int) {
	serial := func() {
		if f.lines.rtu != nil {
			b.line("  loopback: true")
		}
	}
	if f.options.Setup.Chain {
		b.module("emergency stop", address, unit)
		serial()
		b.line("  inputs: [%d, %d]", virtual.StopInput, virtual.StopInput+1)
		b.module("contactor", address, unit)
		serial()
		b.line("  pulse coil: %d", virtual.PulseCoil)
		b.line("  drop coil: %d", virtual.DropCoil)
		b.line("  feedback input: %d", virtual.MirrorInput)
		b.line("  one-shot: 1 s")
	}
	if f.options.Setup.Ventilation {
		b.module("ventilation", address, unit)
		serial()
		b.line("  input: %d", virtual.AirInput)
	}
	if f.options.Setup.Beacon {
		b.module("beacon", address, unit)
		serial()
		for n, lamp := range []string{"red", "yellow", "green", "blue", "white", "sounder", "chime"} {
			b.line("  %s coil: %d", lamp, virtual.FirstLamp+n)
		}
	}
	if f.options.Setup.Voltmeter {
		b.module("voltmeter", address, unit)
		serial()
		b.line("  settle: 500 ms")
		b.line("  register: {table: input, address: 0x%04X, type: i32, order: high_first, scale: 0.001 V, min: -10 V, max: %s V}",
			meterMV, above(float64(f.bench.Supply().Limits().HighestVolts)))
	}
}

func (f *Front) statusKey() scpiserver.Layout { return f.options.Layout }

// decimals is how many decimals write a setpoint without asking for more than
// the step gives.
func decimals(step float64) int {
	if step <= 0 {
		return 6
	}
	return int(math.Max(0, math.Min(6, math.Floor(-math.Log10(step)+1e-9))))
}
