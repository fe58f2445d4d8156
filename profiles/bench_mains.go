package profiles

// mainsReturn refuses a supply that may come back energised after a mains failure, where
// no contactor stands between it and the bath: nobody would be told before it is live.
func (r *report) mainsReturn(g given, b *Bench) {
	state := b.Supply.Dialect.MainsReturn
	if state == "" || state == "halted" || g.has("contactor") || g.meant["contactor"] || g.seen["supply"] == nil {
		return
	}
	at := g.seen["supply"].value("mains return") // of driver scpi it stands in the dialect
	if b.Supply.Analog == nil && b.Supply.Modbus == nil {
		at = g.seen["supply"].value("dialect").value("mains_return")
	}
	r.say(at, "%s%q needs a contactor: without one only a supply whose output stays off when the mains return (halted) may be used; "+
		"give the entry of the contactor, or try what the supply does and correct the word", prefix(at), state)
}

// value is the value of a key of a map, or the map itself where it has no such key.
func (n *node) value(key string) *node {
	for _, e := range n.entries {
		if e.key.text == key {
			return e.value
		}
	}
	return n
}
