package profiles

import "time"

var thermometerDrivers = []string{"onewire", "max31865", "modbus"}

func (r *report) thermometer(n *node, t *ThermometerEntry) {
	if n.word("driver") == "max31865" {
		r.resistor(n, t)
		return
	}
	if n.word("driver") == "modbus" {
		r.warmRegister(n, t)
		return
	}
	t.Through = "kernel"
	r.fields(n, "a bath temperature", []field{
		need("driver", "onewire", driver(&t.Driver, thermometerDrivers, "virtual")),
		may("device", romCodeOf(&t.Device)),
		may("through", choice(&t.Through, "kernel", "bus")),
	})
}

// resistor reads a platinum resistor behind an RTD converter.
func (r *report) resistor(n *node, t *ThermometerEntry) {
	g := r.fields(n, "a platinum resistor", []field{
		need("driver", "max31865", driver(&t.Driver, thermometerDrivers)),
		need("bus", "/dev/spidev0.1", busOf(&t.Bus, spiBus, "/dev/spidev0.1")),
		need("resistance", "100 ohm", quantity(&t.Resistance, 10, 2000)),
		need("reference", "430 ohm", quantity(&t.Reference, 20, 20000)),
		need("wires", "3", whole(&t.Wires, 2, 4)),
	})
	if g.all("resistance", "reference") && t.Reference < 1.6*t.Resistance {
		r.say(g.good["reference"], "reference: %v ohm is too little for a resistor of %v ohm at 0 °C; about four times that is common", float64(t.Reference), float64(t.Resistance))
	}
}

// warmRegister reads a temperature in a Modbus register.
func (r *report) warmRegister(n *node, t *ThermometerEntry) {
	t.Unit, t.Timeout, t.Register = 1, 300*time.Millisecond, &RegisterEntry{}
	g := r.fields(n, "a bath temperature", []field{
		need("driver", "modbus", driver(&t.Driver, thermometerDrivers)),
		need("address", "tcp://192.0.2.6:502", address(&t.Address, modbusWays...)),
		may("unit", whole(&t.Unit, 0, 255)),
		may("timeout", duration(&t.Timeout, 0.01, 1)),
		may("loopback", truth(&t.Loopback)),
		need("register", "{table: input, address: 0x0000, type: i16, scale: 0.1 °C, min: 0 °C, max: 100 °C}", register(t.Register, "°C", false)),
	})
	r.serialUnit(g, t.Address, t.Unit)
}
