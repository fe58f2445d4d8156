package profiles

import "time"

// VentilationEntry is the contact of an airflow switch, closed while the air moves.
type VentilationEntry struct {
	Driver string      `json:"driver"`
	Line   string      `json:"line,omitempty"`
	Wiring WiringEntry `json:"wiring"`

	// Of modbus: a discrete input of a module.
	Address  string        `json:"address,omitempty"`
	Unit     int           `json:"unit,omitempty"`
	Timeout  time.Duration `json:"timeout,omitempty"`
	Loopback bool          `json:"loopback,omitempty"`
	Input    int           `json:"input,omitempty"`
}

func (r *report) ventilation(n *node, v *VentilationEntry) {
	if n.word("driver") == "modbus" {
		r.ventilationInput(n, v)
		return
	}
	table := []field{
		need("driver", "gpio", driver(&v.Driver, chainDrivers, "virtual")),
		need("line", "AIRFLOW", lineName(&v.Line)),
	}
	g := r.fields(n, "a ventilation", append(table, wiringFields(&v.Wiring)...))
	r.bias(g, &v.Wiring)
}

// ventilationInput reads an airflow switch on a discrete input.
func (r *report) ventilationInput(n *node, v *VentilationEntry) {
	table := remoteModule(&v.Driver, &v.Address, &v.Unit, &v.Timeout, &v.Loopback)
	g := r.fields(n, "a ventilation by Modbus", append(table, need("input", "5", whole(&v.Input, 0, 65535))))
	r.serialUnit(g, v.Address, v.Unit)
}
