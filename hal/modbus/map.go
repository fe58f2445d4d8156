package modbus

import (
	"fmt"
	"math"
)

// Map says where a supply keeps what it holds and measures. Addresses are those on
// the wire, from 0.
type Map struct {
	SetpointVoltage Quantity // V, in holding registers
	SetpointCurrent Quantity // A, in holding registers
	Output          Output
	MeasuredVoltage Quantity // V
	MeasuredCurrent Quantity // A
	Status          *Status  // nil: the supply does not tell what regulates or has tripped
}

// Quantity is a number in one register or two.
type Quantity struct {
	Table    string  // holding, input
	Address  int     // of the first register
	Type     string  // u16, i16, u32, i32, f32
	Order    string  // high_first, low_first: of the two words of a 32-bit type
	Scale    float64 // V or A of one count
	Step     float64 // of a setpoint of type f32, in V or A; the others have their scale
	Min, Max float64 // V or A: what is set, and what can have been measured
}

// Output is the switch.
type Output struct {
	Table             string // holding, coil
	Address           int
	Energised, Halted int // what is written; 1 and 0 for a coil
}

// Status is a register of bits, 0 to 15; -1 is a bit that there is not.
type Status struct {
	Table     string // holding, input
	Address   int
	CV, CC    int // what regulates
	Energised int // the output is on
	Tripped   []int
}

// words is how many registers a type takes.
func words(kind string) int {
	switch kind {
	case "u16", "i16":
		return 1
	case "u32", "i32", "f32":
		return 2
	}
	return 0
}

// counts are the least and the most that a type holds.
func counts(kind string) (least, most float64) {
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

// check refuses what cannot be read or written.
func (m *Map) check() error {
	for _, q := range []struct {
		name     string
		quantity *Quantity
		setpoint bool
	}{
		{"setpoint_voltage", &m.SetpointVoltage, true}, {"setpoint_current", &m.SetpointCurrent, true},
		{"measured_voltage", &m.MeasuredVoltage, false}, {"measured_current", &m.MeasuredCurrent, false},
	} {
		if err := q.quantity.check(q.setpoint); err != nil {
			return fmt.Errorf("%s: %w", q.name, err)
		}
	}
	if err := m.Output.check(); err != nil {
		return fmt.Errorf("output: %w", err)
	}
	if m.Status != nil {
		if err := m.Status.check(); err != nil {
			return fmt.Errorf("status: %w", err)
		}
	}
	return m.checkOverlaps()
}

func (q *Quantity) check(setpoint bool) error {
	n := words(q.Type)
	least, most := counts(q.Type)
	switch {
	case n == 0:
		return fmt.Errorf("type %q: u16, i16, u32, i32 or f32 is needed", q.Type)
	case q.Table != "holding" && (setpoint || q.Table != "input"):
		return fmt.Errorf("table %q: a setpoint is in holding, a measurement in holding or input", q.Table)
	case n == 2 && q.Order != "high_first" && q.Order != "low_first":
		return fmt.Errorf("order %q: high_first or low_first is needed for %s", q.Order, q.Type)
	case q.Address < 0 || q.Address+n > 65536:
		return fmt.Errorf("address %d: 0 to 65535 are allowed", q.Address)
	case !(q.Scale > 0) || math.IsInf(q.Scale, 1):
		return fmt.Errorf("scale %v: it must be above 0", q.Scale)
	case !(q.Min < q.Max):
		return fmt.Errorf("min %v and max %v: min must be below max", q.Min, q.Max)
	case setpoint && q.Min/q.Scale < least || q.Max/q.Scale > most+0.5:
		return fmt.Errorf("min %v and max %v: %s with a scale of %v holds %v to %v", q.Min, q.Max, q.Type, q.Scale, least*q.Scale, most*q.Scale)
	case setpoint && q.Min < 0:
		return fmt.Errorf("min %v: a setpoint is not negative", q.Min)
	case setpoint && q.Type == "f32" && !(q.Step > 0):
		return fmt.Errorf("step %v: a setpoint of type f32 needs one above 0", q.Step)
	}
	return nil
}

func (o *Output) check() error {
	switch {
	case o.Table != "holding" && o.Table != "coil":
		return fmt.Errorf("table %q: holding or coil is needed", o.Table)
	case o.Address < 0 || o.Address > 65535:
		return fmt.Errorf("address %d: 0 to 65535 are allowed", o.Address)
	case o.Energised == o.Halted:
		return fmt.Errorf("energised and halted are both %d", o.Halted)
	case min(o.Energised, o.Halted) < 0 || max(o.Energised, o.Halted) > o.most():
		return fmt.Errorf("energised %d and halted %d: 0 to %d are allowed", o.Energised, o.Halted, o.most())
	}
	return nil
}

func (o *Output) most() int {
	if o.Table == "coil" {
		return 1
	}
	return math.MaxUint16
}

func (s *Status) check() error {
	if s.Table != "holding" && s.Table != "input" {
		return fmt.Errorf("table %q: holding or input is needed", s.Table)
	}
	if s.Address < 0 || s.Address > 65535 {
		return fmt.Errorf("address %d: 0 to 65535 are allowed", s.Address)
	}
	seen := map[int]bool{}
	for _, bit := range append([]int{s.CV, s.CC, s.Energised}, s.Tripped...) {
		if bit < -1 || bit > 15 || bit >= 0 && seen[bit] {
			return fmt.Errorf("bit %d: each is from 0 to 15 and means one thing", bit)
		}
		seen[bit] = true
	}
	return nil
}

// span is a stretch of one table.
type span struct {
	name, table    string
	address, count int
}

// spans are all stretches of the map, the output's coil too.
func (m *Map) spans() []span {
	all := []span{
		{"setpoint_voltage", m.SetpointVoltage.Table, m.SetpointVoltage.Address, words(m.SetpointVoltage.Type)},
		{"setpoint_current", m.SetpointCurrent.Table, m.SetpointCurrent.Address, words(m.SetpointCurrent.Type)},
		{"output", m.Output.Table, m.Output.Address, 1},
		{"measured_voltage", m.MeasuredVoltage.Table, m.MeasuredVoltage.Address, words(m.MeasuredVoltage.Type)},
		{"measured_current", m.MeasuredCurrent.Table, m.MeasuredCurrent.Address, words(m.MeasuredCurrent.Type)},
	}
	if m.Status != nil {
		all = append(all, span{"status", m.Status.Table, m.Status.Address, 1})
	}
	return all
}

func (m *Map) checkOverlaps() error {
	all := m.spans()
	for i, a := range all {
		for _, b := range all[:i] {
			if a.table == b.table && a.address < b.address+b.count && b.address < a.address+a.count {
				return fmt.Errorf("%s and %s share a register", b.name, a.name)
			}
		}
	}
	return nil
}
