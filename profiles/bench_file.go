package profiles

import (
	"fmt"
	"strings"
	"time"
)

// ReadBench reads a bench file. The error is [Mistakes], all of them.
func ReadBench(file string, data []byte) (Bench, error) {
	r := &report{file: file}
	var b Bench
	if n := r.parse(data); n != nil {
		g := r.fields(n, "a bench", benchFields(&b))
		r.independent(g, &b)
		r.apart(g, &b)
		r.agree(g, b)
		r.mainsReturn(g, &b)
		r.linesApart(g, &b)
		r.oneLanguage(g, &b)
		r.registersApart(g, &b)
		r.chipsApart(g, &b)
		r.sensorApart(g, &b)
		r.wholeVirtual(g)
	}
	return b, r.err()
}

func benchFields(b *Bench) []field {
	return []field{
		need("supply", "{driver: scpi, address: tcp://192.0.2.5:5025}", func(r *report, n *node) { r.supply(n, &b.Supply) }),
		need("interlock", "{driver: modbus, address: tcp://192.0.2.6:502}", func(r *report, n *node) { r.interlock(n, &b.Interlock) }),
		may("bath temperature", made(&b.Temperature, (*report).thermometer)),
		may("contactor", made(&b.Contactor, (*report).contactor)),
		may("emergency stop", made(&b.EmergencyStop, (*report).emergencyStop)),
		may("ventilation", made(&b.Ventilation, (*report).ventilation)),
		may("beacon", made(&b.Beacon, (*report).beacon)),
		may("set-up", made(&b.SetUp, (*report).setUp)),
		may("checks", func(r *report, n *node) { r.checks(n, &b.Checks) }),
		may("voltmeter", made(&b.Voltmeter, (*report).voltmeter)),
		may("colour sensor", made(&b.ColourSensor, (*report).colourSensor)),
	}
}

var supplyDrivers = []string{"scpi", "modbus", "analog", "virtual"}

func (r *report) supply(n *node, s *SupplyEntry) {
	switch n.word("driver") {
	case "analog":
		r.analog(n, s)
		return
	case "modbus":
		r.modbus(n, s)
		return
	case "virtual":
		r.virtualSupply(n, s)
		return
	}
	r.fields(n, "a supply", []field{
		need("driver", "scpi", driver(&s.Driver, supplyDrivers)),
		need("address", "tcp://192.0.2.5:5025", address(&s.Address, "tcp", "serial", "usbtmc")),
		need("highest voltage", "120 V", quantity(&s.HighestVoltage, 1, 300)),
		need("highest current", "5 A", quantity(&s.HighestCurrent, 0.001, 200)),
		need("dialect", "{status: questionable, settle: 150 ms}", func(r *report, n *node) { r.dialect(n, &s.Dialect) }),
	})
}

var lidDrivers = []string{"modbus", "gpio", "virtual"}

func (r *report) interlock(n *node, i *InterlockEntry) {
	switch n.word("driver") {
	case "gpio":
		r.lidLines(n, i)
		return
	case "virtual":
		r.virtualLid(n, i)
		return
	}
	i.Unit, i.Timeout = 1, 300*time.Millisecond
	g := r.fields(n, "an interlock", []field{
		need("driver", "modbus", driver(&i.Driver, lidDrivers)),
		need("address", "tcp://192.0.2.6:502", address(&i.Address, modbusWays...)),
		may("unit", whole(&i.Unit, 0, 255)),
		need("inputs", "[0, 1]", inputs(&i.Inputs)),
		may("timeout", duration(&i.Timeout, 0.01, 1)),
		may("loopback", truth(&i.Loopback)),
	})
	r.serialUnit(g, i.Address, i.Unit)
}

// driver reads the word of a driver: one that there is, or one that is planned.
func driver(to *string, there []string, planned ...string) reader {
	return valued(func(s string) error {
		for _, word := range there {
			if s == word {
				*to = word
				return nil
			}
		}
		for _, word := range planned {
			if s == word {
				return fmt.Errorf("%q is not available in this version; %s", s, available(there))
			}
		}
		return fmt.Errorf("%q is not known%s %s", brief(s), endSentence(didYouMean(s, there)), available(there))
	})
}

func available(there []string) string {
	if len(there) == 0 {
		return "there is no driver for it yet, leave this entry out"
	}
	return "available: " + strings.Join(there, ", ")
}

// address reads an address of one of the kinds that the device is reached by.
func address(to *string, ways ...string) reader {
	return valued(func(s string) error {
		_, err := ParseAddress(s, ways...)
		*to = s
		return err
	})
}

// mostApart is how far apart two inputs may be to be read by one request, which asks
// for 2000 at most (MODBUS Application Protocol V1.1b3, 6.2).
const mostApart = 1999

// inputs reads the two different discrete inputs of the lid switch.
func inputs(to *[2]int) reader {
	return func(r *report, n *node) {
		if !r.is(n, list, "[0, 1], two discrete inputs,") {
			return
		}
		if len(n.items) != 2 {
			r.say(n, "inputs: %d given; two channels are needed, such as [0, 1]", len(n.items))
			return
		}
		before := len(r.mistakes)
		for i := range to {
			whole(&to[i], 0, 65535)(r, n.items[i])
		}
		switch apart := max(to[0]-to[1], to[1]-to[0]); {
		case len(r.mistakes) > before:
		case apart == 0:
			r.say(n.items[1], "inputs: %d twice; the two channels are two inputs", to[0])
		case apart > mostApart:
			r.say(n.items[1], "inputs: %d and %d are %d apart; both channels are read at one moment, which reaches over %d", to[0], to[1], apart, mostApart)
		}
	}
}
