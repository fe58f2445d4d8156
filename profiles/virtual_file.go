package profiles

// virtualSupply reads the supply of the embedded virtual bench: what it can give.
func (r *report) virtualSupply(n *node, s *SupplyEntry) {
	r.fields(n, "a virtual supply", []field{
		need("driver", "virtual", driver(&s.Driver, supplyDrivers)),
		need("highest voltage", "120 V", quantity(&s.HighestVoltage, 1, 300)),
		need("highest current", "5 A", quantity(&s.HighestCurrent, 0.001, 200)),
	})
}

// virtualLid reads the lid switch of the embedded virtual bench, which its person moves.
func (r *report) virtualLid(n *node, i *InterlockEntry) {
	r.fields(n, "a virtual interlock", []field{need("driver", "virtual", driver(&i.Driver, lidDrivers))})
}

// besideVirtual is what a virtual bench has of its own, or cannot have.
var besideVirtual = []string{"bath temperature", "contactor", "emergency stop", "ventilation", "beacon", "set-up", "checks", "voltmeter", "colour sensor"}

// wholeVirtual refuses a bench that is virtual in part: a simulated lid over a real
// output, or a real device beside a simulated bath.
func (r *report) wholeVirtual(g given) {
	supply, lid := isVirtual(g.seen["supply"]), isVirtual(g.seen["interlock"])
	switch {
	case !supply && !lid:
		return
	case supply && !lid && g.has("interlock"):
		r.say(g.seen["interlock"].value("driver"), "driver: the supply is virtual and the interlock is not; a bench is virtual in both or in neither")
	case lid && !supply && g.has("supply"):
		r.say(g.seen["interlock"].value("driver"), "driver: the interlock is virtual and the supply is not; a bench is virtual in both or in neither")
	}
	for _, key := range g.present(besideVirtual) {
		r.say(g.seen[key], "%s: a virtual bench has supply and interlock alone in its file; leave this entry out", key)
	}
}

func isVirtual(n *node) bool { return n != nil && n.word("driver") == "virtual" }

// Virtual tells whether the file names the embedded virtual bench.
func (b Bench) Virtual() bool { return b.Supply.Driver == "virtual" }
