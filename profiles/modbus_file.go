package profiles

import (
	"fmt"
	"math"
	"strconv"
	"strings"
	"time"
)

var modbusWays = []string{"tcp", "rtu", "rtu+tcp"}

// modbus reads a supply behind a map of registers.
func (r *report) modbus(n *node, s *SupplyEntry) {
	m := &ModbusEntry{Unit: 1, Timeout: 500 * time.Millisecond, Identification: true}
	s.Modbus = m
	var registers *node
	g := r.fields(n, "a Modbus supply", []field{
		need("driver", "modbus", driver(&s.Driver, supplyDrivers)),
		need("address", "rtu:///dev/serial/by-id/NAME?baud=9600&parity=even", address(&s.Address, modbusWays...)),
		may("unit", whole(&m.Unit, 0, 255)),
		need("highest voltage", "120 V", quantity(&s.HighestVoltage, 1, 300)),
		need("highest current", "5 A", quantity(&s.HighestCurrent, 0.001, 200)),
		may("timeout", duration(&m.Timeout, 0.01, 5)),
		may("gap", duration(&m.Gap, 0, 1)),
		may("loopback", truth(&m.Loopback)),
		may("identification", truth(&m.Identification)),
		need("settle", "150 ms", duration(&m.Settle, 0, 5)),
		need("mains return", "halted", choice(&m.MainsReturn, "halted", "as_before", "energised", "unknown")),
		need("map", "{setpoint_voltage: {table: holding, ...}, ...}", func(r *report, n *node) { registers = n; r.registers(n, &m.Map) }),
	})
	s.Dialect.MainsReturn, s.Dialect.Settle = m.MainsReturn, m.Settle
	r.serialUnit(g, s.Address, m.Unit)
	if g.all("highest voltage", "map") && float64(s.HighestVoltage) > m.Map.SetpointVoltage.Max {
		r.say(registers, "map: setpoint_voltage reaches %v V; the highest voltage is %v V", m.Map.SetpointVoltage.Max, float64(s.HighestVoltage))
	}
	if g.all("highest current", "map") && float64(s.HighestCurrent) > m.Map.SetpointCurrent.Max {
		r.say(registers, "map: setpoint_current reaches %v A; the highest current is %v A", m.Map.SetpointCurrent.Max, float64(s.HighestCurrent))
	}
	r.readable(g, s, registers)
}

// serialUnit: on a serial line 0 is for all devices at once, and above 247 is reserved
// (MODBUS over Serial Line V1.02, 2.2).
func (r *report) serialUnit(g given, address string, unit int) {
	if g.good["unit"] != nil && strings.HasPrefix(address, "rtu") && (unit < 1 || unit > 247) {
		r.say(g.good["unit"], "unit: %d is not the number of one device on a serial line; allowed is 1 to 247", unit)
	}
}

func (r *report) registers(n *node, m *RegisterMap) {
	var status StatusEntry
	g := r.fields(n, "a map", []field{
		need("setpoint_voltage", "{table: holding, address: 0x0000, type: u16, scale: 0.01 V, min: 0 V, max: 120 V}", register(&m.SetpointVoltage, "V", true)),
		need("setpoint_current", "{table: holding, address: 0x0001, type: u16, scale: 0.01 A, min: 0 A, max: 5 A}", register(&m.SetpointCurrent, "A", true)),
		need("output", "{table: holding, address: 0x0002, type: u16, energised: 1, halted: 0}", func(r *report, n *node) { r.outputRegister(n, &m.Output) }),
		need("measured_voltage", "{table: input, address: 0x0100, type: u16, scale: 0.01 V, min: -1 V, max: 130 V}", register(&m.MeasuredVoltage, "V", false)),
		need("measured_current", "{table: input, address: 0x0101, type: i16, scale: 0.001 A, min: -0.1 A, max: 6 A}", register(&m.MeasuredCurrent, "A", false)),
		may("status", func(r *report, n *node) { r.statusRegister(n, &status) }),
	})
	if g.has("status") {
		m.Status = &status
	}
	r.overlaps(g, m)
}

// wireAddress reads an address from 0 to 65535, also hexadecimal.
func wireAddress(to *int) reader {
	return valued(func(s string) error {
		value, err := strconv.ParseUint(s, 0, 16)
		if err != nil || strings.ContainsAny(s, "_oObB") {
			return fmt.Errorf("%q is no address on the wire; allowed is 0 to 65535, or 0x0000 to 0xFFFF", brief(s))
		}
		*to = int(value)
		return nil
	})
}

// register reads a number's place, in V, A or °C.
func register(e *RegisterEntry, symbol string, setpoint bool) reader {
	tables := []string{"holding", "input"}
	if setpoint {
		tables = tables[:1]
	}
	return func(r *report, n *node) {
		g := r.fields(n, "a register", []field{
			need("table", "holding", choice(&e.Table, tables...)),
			need("address", "0x0000", wireAddress(&e.Address)),
			need("type", "u16", choice(&e.Type, "u16", "i16", "u32", "i32", "f32")),
			may("order", choice(&e.Order, "high_first", "low_first")),
			need("scale", "0.01 "+symbol, number(&e.Scale, symbol, 1e-6, 1e4)),
			may("step", number(&e.Step, symbol, 1e-6, 10)),
			need("min", "0 "+symbol, number(&e.Min, symbol, -1e4, 1e4)),
			need("max", "120 "+symbol, number(&e.Max, symbol, -1e4, 1e4)),
		})
		r.fits(n, g, e, symbol, setpoint)
	}
}

// fits holds the keys of a register against each other.
func (r *report) fits(n *node, g given, e *RegisterEntry, symbol string, setpoint bool) {
	least, most := typeRange(e.Type)
	if g.all("type") && e.Words() == 2 && !g.has("order") && !g.meant["order"] {
		r.say(n, "missing key \"order\": %s has two words, and their order is not standardised; allowed: high_first, low_first", e.Type)
	}
	if g.all("type") && (e.Type == "f32" && setpoint) != g.has("step") {
		r.say(n, "step: a setpoint of type f32 needs one, and nothing else has one")
	}
	if g.all("address", "type") && e.Address+e.Words() > 65536 {
		r.say(g.good["address"], "address: %s does not fit there", e.Type)
	}
	if !g.all("type", "scale", "min", "max") {
		return
	}
	switch {
	case e.Min >= e.Max:
		r.say(g.good["max"], "max: it must be above min")
	case setpoint && e.Min < 0:
		r.say(g.good["min"], "min: a setpoint is not negative")
	case setpoint && e.Min/e.Scale < least, e.Max/e.Scale > most+0.5:
		r.say(g.good["max"], "max: %s of %v %s a count reaches from %v to %v %s", e.Type, e.Scale, symbol, least*e.Scale, most*e.Scale, symbol)
	}
}

// typeRange is the least and the most count of a type.
func typeRange(kind string) (least, most float64) {
	switch kind {
	case "u16":
		return 0, math.MaxUint16
	case "i16":
		return math.MinInt16, math.MaxInt16
	case "u32":
		return 0, math.MaxUint32
	case "i32":
		return math.MinInt32, math.MaxInt32
	}
	return -math.MaxFloat32, math.MaxFloat32
}

func (r *report) outputRegister(n *node, o *OutputEntry) {
	kind := ""
	o.Energised, o.Halted = 1, 0
	g := r.fields(n, "an output", []field{
		need("table", "holding", choice(&o.Table, "holding", "coil")),
		need("address", "0x0002", wireAddress(&o.Address)),
		may("type", choice(&kind, "u16")),
		need("energised", "1", whole(&o.Energised, 0, math.MaxUint16)),
		need("halted", "0", whole(&o.Halted, 0, math.MaxUint16)),
	})
	if !g.all("table", "energised", "halted") {
		return
	}
	switch {
	case o.Energised == o.Halted:
		r.say(g.good["halted"], "halted: it is the same as energised")
	case o.Table == "coil" && max(o.Energised, o.Halted) > 1:
		r.say(n, "output: a coil is 0 or 1")
	}
}

func (r *report) statusRegister(n *node, s *StatusEntry) {
	kind := ""
	s.CV, s.CC, s.Energised = -1, -1, -1
	before := len(r.mistakes)
	g := r.fields(n, "a status", []field{
		need("table", "input", choice(&s.Table, "holding", "input")),
		need("address", "0x0104", wireAddress(&s.Address)),
		need("type", "bits", choice(&kind, "bits")),
		may("cv", whole(&s.CV, 0, 15)),
		may("cc", whole(&s.CC, 0, 15)),
		may("tripped", each(16, "a list of bits", add(&s.Tripped, func(r *report, n *node, bit *int) { whole(bit, 0, 15)(r, n) }))),
		may("energised", whole(&s.Energised, 0, 15)),
	})
	if len(r.mistakes) > before {
		return
	}
	if !g.has("cv") && !g.has("cc") && !g.has("tripped") && !g.has("energised") {
		r.say(n, "status: it has no bit; at least one of these is needed: cv, cc, tripped, energised")
	}
	seen := map[int]bool{-1: true}
	for _, bit := range append([]int{s.CV, s.CC, s.Energised}, s.Tripped...) {
		if bit >= 0 && seen[bit] {
			r.say(n, "status: bit %d has two meanings", bit)
		}
		seen[bit] = true
	}
}
