package profiles

import "time"

var voltmeterDrivers = []string{"scpi", "modbus", "analog"}

func (r *report) voltmeter(n *node, v *VoltmeterEntry) {
	v.Settle = 300 * time.Millisecond
	switch n.word("driver") {
	case "modbus":
		r.voltRegister(n, v)
	case "analog":
		r.voltConverter(n, v)
	default:
		v.Dialect = MeterDialect{Query: "MEAS:VOLT:DC?", SendEnd: "lf", ReplyEnd: "any", Probe: "ese", Timeout: time.Second}
		r.fields(n, "a voltmeter", []field{
			need("driver", "scpi", driver(&v.Driver, voltmeterDrivers, "virtual")),
			need("address", "tcp://192.0.2.7:5025", address(&v.Address, "tcp", "serial", "usbtmc")),
			may("settle", duration(&v.Settle, 0, 2)),
			may("dialect", func(r *report, n *node) { r.meterDialect(n, &v.Dialect) }),
		})
	}
}

func (r *report) meterDialect(n *node, d *MeterDialect) {
	r.fields(n, "a dialect of a voltmeter", []field{
		may("query", question(&d.Query, 80)),
		may("enter", instructions(&d.Enter)),
		may("send_end", choice(&d.SendEnd, "lf", "crlf", "cr")),
		may("reply_end", choice(&d.ReplyEnd, "any", "lf", "crlf", "cr")),
		may("echo", truth(&d.Echo)),
		may("probe", choice(&d.Probe, "ese", "idn", "reopen")),
		may("timeout", duration(&d.Timeout, 0.01, 5)),
		may("gap", duration(&d.Gap, 0, 1)),
	})
}

// voltRegister reads volts in a Modbus register.
func (r *report) voltRegister(n *node, v *VoltmeterEntry) {
	v.Unit, v.Timeout, v.Register = 1, 300*time.Millisecond, &RegisterEntry{}
	g := r.fields(n, "a voltmeter", []field{
		need("driver", "modbus", driver(&v.Driver, voltmeterDrivers)),
		need("address", "tcp://192.0.2.6:502", address(&v.Address, modbusWays...)),
		may("unit", whole(&v.Unit, 0, 255)),
		may("timeout", duration(&v.Timeout, 0.01, 1)),
		may("loopback", truth(&v.Loopback)),
		may("settle", duration(&v.Settle, 0, 2)),
		need("register", "{table: input, address: 0x0010, type: i32, order: high_first, scale: 0.001 V, min: -5 V, max: 150 V}", register(v.Register, "V", false)),
	})
	r.serialUnit(g, v.Address, v.Unit)
}

// voltConverter reads a converter behind a divider.
func (r *report) voltConverter(n *node, v *VoltmeterEntry) {
	v.Converter = &ConverterEntry{}
	r.fields(n, "a voltmeter", []field{
		need("driver", "analog", driver(&v.Driver, voltmeterDrivers)),
		may("settle", duration(&v.Settle, 0, 2)),
		need("converter", "{chip: ads1115, bus: /dev/i2c-1, address: 0x49, channel: 0, scale: {pin: 4 V, means: 140 V}}",
			func(r *report, n *node) { r.input(n, "V", v.Converter) }),
	})
}

// meterReach is how far beyond the highest voltage an independent meter must see.
const meterReach = 1.02

// independent holds the voltmeter against the supply: it must see all of its volts, and
// it must not be the supply's own monitor.
func (r *report) independent(g given, b *Bench) {
	if !g.all("supply", "voltmeter") {
		return
	}
	n, v, needed := g.good["voltmeter"], b.Voltmeter, meterReach*float64(b.Supply.HighestVoltage)
	switch {
	case v.Register != nil && v.Register.Max < needed-1e-9:
		r.say(n, "voltmeter: its register ends at %.4g V; it must reach 2 %% above the highest voltage, %.4g V", v.Register.Max, needed)
	case v.Converter != nil && v.Converter.trueEnd() < needed-1e-9:
		r.say(n, "voltmeter: %s ends at %.4g V; it must reach 2 %% above the highest voltage, %.4g V", v.Converter.Chip, v.Converter.trueEnd(), needed)
	case v.Driver == "scpi" && b.Supply.Driver == "scpi" && sameInstrument(v.Address, b.Supply.Address):
		r.say(n, "voltmeter: it has the address of the supply; a meter that is the supply's own proves nothing")
	}
	if v.Converter == nil || b.Supply.Analog == nil {
		return
	}
	for _, own := range b.Supply.Analog.Converters() {
		if own.Device() == v.Converter.Device() && (own.Channel == v.Converter.Channel || own.Chip != v.Converter.Chip) {
			r.say(n, "voltmeter: the %s at %s serves the supply already; a meter that is the supply's own proves nothing", own.Chip, own.Device())
		}
	}
}
