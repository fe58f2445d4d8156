package profiles

// benchEntry is a device of a bench and how it is reached: by an address, or by GPIO lines.
type benchEntry struct {
	name, driver, address string
	chip                  string // of the lines
	lines                 []entryLine
}

// entryLine is a GPIO line of an entry: its label or number, and the keys under which the
// file has it, with its place in a list.
type entryLine struct {
	name string
	keys []string
	item int // -1 where it is no list
}

// at is where the file has the line.
func (l entryLine) at(entry *node) *node {
	for _, key := range l.keys {
		entry = entry.value(key)
	}
	if l.item >= 0 {
		return entry.items[l.item]
	}
	return entry
}

func lineAt(name string, keys ...string) entryLine { return entryLine{name, keys, -1} }

func linesAt(key string, names ...string) (all []entryLine) {
	for i, name := range names {
		all = append(all, entryLine{name, []string{key}, i})
	}
	return all
}

// entries are the devices that the file has: the one list of them.
func (b *Bench) entries() (all []benchEntry) {
	add := func(name, driver, address, chip string, lines ...entryLine) {
		if driver != "gpio" && driver != "analog" {
			lines = nil
		}
		all = append(all, benchEntry{name, driver, address, chip, lines})
	}
	b.supplyEntry(add)
	add("interlock", b.Interlock.Driver, b.Interlock.Address, b.Interlock.Wiring.Chip, linesAt("lines", b.Interlock.Lines[:]...)...)
	if e := b.EmergencyStop; e != nil {
		add("emergency stop", e.Driver, e.Address, e.Wiring.Chip, linesAt("lines", e.Lines...)...)
	}
	if e := b.Ventilation; e != nil {
		add("ventilation", e.Driver, e.Address, e.Wiring.Chip, lineAt(e.Line, "line"))
	}
	if e := b.Contactor; e != nil {
		add("contactor", e.Driver, e.Address, e.Wiring.Chip, lineAt(e.PulseLine, "pulse line"), lineAt(e.DropLine, "drop line"), lineAt(e.FeedbackLine, "feedback line"))
	}
	if e := b.Beacon; e != nil {
		add("beacon", e.Driver, e.Address, e.Chip, e.lampLines()...)
	}
	if e := b.Temperature; e != nil {
		add("bath temperature", e.Driver, e.Address, "")
	}
	if e := b.Voltmeter; e != nil {
		add("voltmeter", e.Driver, e.Address, "")
	}
	return all
}

// supplyEntry adds the supply; one behind converters has its enable contact on a line.
func (b *Bench) supplyEntry(add func(name, driver, address, chip string, lines ...entryLine)) {
	if b.Supply.Analog == nil {
		add("supply", b.Supply.Driver, b.Supply.Address, "")
		return
	}
	enable := b.Supply.Analog.Enable
	add("supply", b.Supply.Driver, b.Supply.Address, enable.Chip, lineAt(enable.Line, "enable", "line"))
}

func (e *BeaconEntry) lampLines() (all []entryLine) {
	for _, lamp := range e.Lamps {
		all = append(all, lineAt(lamp.Line, lamp.Lamp+" line"))
	}
	return all
}
