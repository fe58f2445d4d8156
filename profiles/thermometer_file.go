package profiles

var thermometerDrivers = []string{"onewire", "max31865"}

func (r *report) thermometer(n *node, t *ThermometerEntry) {
	if n.word("driver") == "max31865" {
		r.resistor(n, t)
		return
	}
	t.Through = "kernel"
	r.fields(n, "a bath temperature", []field{
		need("driver", "onewire", driver(&t.Driver, thermometerDrivers, "virtual")),
		may("device", text(&t.Device, 200)),
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
