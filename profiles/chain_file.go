package profiles

import (
	"slices"
	"time"
)

// Both read the chain of a bench by GPIO or by the inputs and coils of a remote module.
var chainDrivers = []string{"gpio", "modbus"}

// remoteModule are the keys of a module of inputs and coils.
func remoteModule(word *string, to *string, unit *int, timeout *time.Duration, loopback *bool) []field {
	*unit, *timeout = 1, 300*time.Millisecond
	return []field{
		need("driver", "modbus", driver(word, chainDrivers)),
		need("address", "tcp://192.0.2.6:502", address(to, modbusWays...)),
		may("unit", whole(unit, 0, 255)),
		may("timeout", duration(timeout, 0.01, 0.5)),
		may("loopback", truth(loopback)),
	}
}

// stopInputs reads an emergency stop on discrete inputs.
func (r *report) stopInputs(n *node, s *StopEntry) {
	table := remoteModule(&s.Driver, &s.Address, &s.Unit, &s.Timeout, &s.Loopback)
	g := r.fields(n, "an emergency stop by Modbus", append(table, need("inputs", "[2, 3]", stopContacts(&s.Inputs))))
	r.serialUnit(g, s.Address, s.Unit)
}

// stopContacts reads one discrete input or two different ones.
func stopContacts(to *[]int) reader {
	return func(r *report, n *node) {
		if !r.is(n, list, "[2, 3], discrete inputs,") {
			return
		}
		if len(n.items) < 1 || len(n.items) > 2 {
			r.say(n, "inputs: %d given; one or two are needed, such as [2, 3]", len(n.items))
			return
		}
		*to = make([]int, len(n.items))
		before := len(r.mistakes)
		for i := range *to {
			whole(&(*to)[i], 0, 65535)(r, n.items[i])
		}
		all := *to
		if len(r.mistakes) > before || len(all) < 2 {
			return
		}
		switch apart := max(all[0]-all[1], all[1]-all[0]); {
		case apart == 0:
			r.say(n.items[1], "inputs: %d twice; each contact needs an input of its own", all[0])
		case apart > mostApart:
			r.say(n.items[1], "inputs: %d and %d are %d apart; both contacts are read at one moment, which reaches over %d", all[0], all[1], apart, mostApart)
		}
	}
}

// contactorCoils reads a contactor on the coils of a remote module.
func (r *report) contactorCoils(n *node, c *ContactorEntry) {
	c.DropCoil = -1
	table := append(remoteModule(&c.Driver, &c.Address, &c.Unit, &c.Timeout, &c.Loopback),
		need("pulse coil", "0", whole(&c.PulseCoil, 0, 65535)),
		may("drop coil", whole(&c.DropCoil, 0, 65535)),
		need("feedback input", "4", whole(&c.FeedbackInput, 0, 65535)),
		may("one-shot", duration(&c.OneShot, 0.5, 1.2)),
		may("watchdog", duration(&c.OneShot, 0.5, 1.2)))
	g := r.fields(n, "a contactor by Modbus", table)
	r.serialUnit(g, c.Address, c.Unit)
	r.exactlyOne(n, g, "a contactor by Modbus", "one-shot", "watchdog")
	c.Watchdog = g.has("watchdog")
	if g.all("pulse coil", "drop coil") && c.PulseCoil == c.DropCoil {
		r.say(g.good["drop coil"], "drop coil: %d is the pulse coil already; each needs a coil of its own", c.DropCoil)
	}
}

// beaconCoils reads a stack light on the coils of a remote module.
func (r *report) beaconCoils(n *node, b *BeaconEntry) {
	table := remoteModule(&b.Driver, &b.Address, &b.Unit, &b.Timeout, &b.Loopback)
	g := r.lamps(n, "a beacon by Modbus", table, "coil", func(lamp string) reader {
		return func(r *report, n *node) {
			entry := LampEntry{Lamp: lamp}
			whole(&entry.Coil, 0, 65535)(r, n)
			b.Lamps = append(b.Lamps, entry)
		}
	})
	r.serialUnit(g, b.Address, b.Unit)
}

// input is a discrete input of a module.
type input struct {
	place  string
	unit   int
	number int
}

// apart refuses a discrete input that means two things.
func (r *report) apart(g given, b *Bench) {
	seen := map[input]string{}
	take := func(key, address string, unit int, numbers ...int) {
		for _, number := range numbers {
			at := input{plainPlace(address), unit, number}
			if before := seen[at]; before != "" && before != key {
				r.say(g.good[key], "%s: input %d is one of the %s already; each contact needs an input of its own", key, number, before)
				return
			}
			seen[at] = key
		}
	}
	remote := func(key, word string) bool { return g.all(key) && word == "modbus" }
	if remote("interlock", b.Interlock.Driver) {
		take("interlock", b.Interlock.Address, b.Interlock.Unit, b.Interlock.Inputs[:]...)
	}
	if e := b.EmergencyStop; e != nil && remote("emergency stop", e.Driver) {
		take("emergency stop", e.Address, e.Unit, slices.Clone(e.Inputs)...)
	}
	if e := b.Ventilation; e != nil && remote("ventilation", e.Driver) {
		take("ventilation", e.Address, e.Unit, e.Input)
	}
	if e := b.Contactor; e != nil && remote("contactor", e.Driver) {
		take("contactor", e.Address, e.Unit, e.FeedbackInput)
	}
}
