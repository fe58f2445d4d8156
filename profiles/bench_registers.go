package profiles

// stretch is some registers or coils of a module, and what they mean.
type stretch struct {
	entry, key     string
	place          string
	unit           int
	table          string
	address, count int
	at             *node
}

// stretches are the registers and coils of all entries that were read well. The registers
// of one map are held against each other by overlaps.
func stretches(g given, b *Bench) (all []stretch) {
	add := func(entry, key, place string, unit int, table string, address, count int, at *node) {
		all = append(all, stretch{entry, key, plainPlace(place), unit, table, address, count, at})
	}
	if n, m := g.good["supply"], b.Supply.Modbus; n != nil && m != nil {
		for _, one := range m.Map.stretches() {
			add("supply", one.key, b.Supply.Address, m.Unit, one.table, one.address, one.count, n.value("map").value(one.key))
		}
	}
	if n, e := g.good["bath temperature"], b.Temperature; n != nil && e.Register != nil {
		add("bath temperature", "register", e.Address, e.Unit, e.Register.Table, e.Register.Address, e.Register.Words(), n.value("register"))
	}
	if n, e := g.good["voltmeter"], b.Voltmeter; n != nil && e.Register != nil {
		add("voltmeter", "register", e.Address, e.Unit, e.Register.Table, e.Register.Address, e.Register.Words(), n.value("register"))
	}
	if n, e := g.good["contactor"], b.Contactor; n != nil && e.Driver == "modbus" {
		add("contactor", "pulse coil", e.Address, e.Unit, "coil", e.PulseCoil, 1, n.value("pulse coil"))
		if e.DropCoil >= 0 {
			add("contactor", "drop coil", e.Address, e.Unit, "coil", e.DropCoil, 1, n.value("drop coil"))
		}
	}
	if n, e := g.good["beacon"], b.Beacon; n != nil && e.Driver == "modbus" {
		for _, lamp := range e.Lamps {
			add("beacon", lamp.Lamp+" coil", e.Address, e.Unit, "coil", lamp.Coil, 1, n.value(lamp.Lamp+" coil"))
		}
	}
	return all
}

// registersApart refuses a register or a coil that two entries use.
func (r *report) registersApart(g given, b *Bench) {
	all := stretches(g, b)
	for i, s := range all {
		for _, before := range all[:i] {
			if s.entry != before.entry && s.meets(before) {
				r.say(s.at, "%s: it lies on %s of the %s; what two entries share proves nothing", s.key, before.key, before.entry)
				break
			}
		}
	}
}

func (s stretch) meets(o stretch) bool {
	return s.place == o.place && s.unit == o.unit && s.table == o.table && s.address < o.address+o.count && o.address < s.address+s.count
}

// stretches are the registers of a map.
func (m *RegisterMap) stretches() []stretch {
	all := []stretch{
		{key: "setpoint_voltage", table: m.SetpointVoltage.Table, address: m.SetpointVoltage.Address, count: m.SetpointVoltage.Words()},
		{key: "setpoint_current", table: m.SetpointCurrent.Table, address: m.SetpointCurrent.Address, count: m.SetpointCurrent.Words()},
		{key: "output", table: m.Output.Table, address: m.Output.Address, count: 1},
		{key: "measured_voltage", table: m.MeasuredVoltage.Table, address: m.MeasuredVoltage.Address, count: m.MeasuredVoltage.Words()},
		{key: "measured_current", table: m.MeasuredCurrent.Table, address: m.MeasuredCurrent.Address, count: m.MeasuredCurrent.Words()},
	}
	if m.Status != nil {
		all = append(all, stretch{key: "status", table: m.Status.Table, address: m.Status.Address, count: 1})
	}
	return all
}

// overlaps reports registers of a map with two meanings, at the later one of a pair.
func (r *report) overlaps(g given, m *RegisterMap) {
	all := m.stretches()
	for i, a := range all {
		for _, b := range all[:i] {
			if g.all(a.key, b.key) && a.meets(b) {
				r.say(g.good[a.key], "%s: it lies on a register of %s", a.key, b.key)
			}
		}
	}
}

// readable holds what a map can read against what the supply can do: a reading beyond a
// register's range is no reading, and a supply at rest reads zero.
func (r *report) readable(g given, s *SupplyEntry, registers *node) {
	all := s.Modbus.Map
	for _, one := range []struct {
		kind, highestKey, symbol string
		setpoint, register       RegisterEntry
		highest                  float64
	}{
		{"voltage", "highest voltage", "V", all.SetpointVoltage, all.MeasuredVoltage, float64(s.HighestVoltage)},
		{"current", "highest current", "A", all.SetpointCurrent, all.MeasuredCurrent, float64(s.HighestCurrent)},
	} {
		if !g.all("map", one.highestKey) {
			continue
		}
		key := "measured_" + one.kind
		if one.setpoint.Floor() >= one.highest {
			r.say(registers.value("setpoint_"+one.kind).value("min"), "min: %v %s, up to a step, is not below the %s of %v %s", one.setpoint.Floor(), one.symbol, one.highestKey, one.highest, one.symbol)
		}
		if needed := meterReach * one.highest; one.register.Max < needed-1e-9 {
			r.say(registers.value(key).value("max"), "max: %v %s; it must reach 2 %% above the %s, %.4g %s, or a reading there is none", one.register.Max, one.symbol, one.highestKey, needed, one.symbol)
		}
		if one.register.Min > 0 {
			r.say(registers.value(key).value("min"), "min: %v %s; a supply at rest reads 0 %s, which must be a reading", one.register.Min, one.symbol, one.symbol)
		}
	}
}
