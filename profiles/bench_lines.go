package profiles

import (
	"slices"
	"strings"
	"time"
)

// WiringEntry says how the contacts of an entry reach their GPIO lines. A loose wire
// must read as open.
type WiringEntry struct {
	Chip   string `json:"chip,omitempty"`         // device file; empty: the chip that has the lines
	Closed string `json:"closed_level,omitempty"` // high or low: what a closed contact gives; default high
	Bias   string `json:"bias,omitempty"`         // pull-down, pull-up, none; default: the one that fits
}

// StopEntry is the extra contacts of the emergency stop, one or two.
type StopEntry struct {
	Driver string      `json:"driver"`
	Lines  []string    `json:"lines"`
	Wiring WiringEntry `json:"wiring"`

	// Of modbus: discrete inputs of a module.
	Address  string        `json:"address,omitempty"`
	Unit     int           `json:"unit,omitempty"`
	Timeout  time.Duration `json:"timeout,omitempty"`
	Loopback bool          `json:"loopback,omitempty"`
	Inputs   []int         `json:"inputs,omitempty"`
}

// BeaconEntry is the stack light and the sounders of a bench.
type BeaconEntry struct {
	Driver string      `json:"driver"`
	Chip   string      `json:"chip,omitempty"`
	Lit    string      `json:"lit_level,omitempty"` // high or low: what lights a lamp; default high
	Lamps  []LampEntry `json:"lamps"`

	// Of modbus: coils of a module.
	Address  string        `json:"address,omitempty"`
	Unit     int           `json:"unit,omitempty"`
	Timeout  time.Duration `json:"timeout,omitempty"`
	Loopback bool          `json:"loopback,omitempty"`
}

// LampEntry is one lamp or sounder on a line, or on a coil: red, yellow, green, blue,
// white, sounder or chime.
type LampEntry struct {
	Lamp string `json:"lamp"`
	Line string `json:"line,omitempty"`
	Coil int    `json:"coil"` // of modbus
}

var lampWords = []string{"red", "yellow", "green", "blue", "white", "sounder", "chime"}

const longestLine = 31 // bytes of a label, by the kernel's interface

func (r *report) lidLines(n *node, i *InterlockEntry) {
	*i = InterlockEntry{}
	var lines []string
	table := []field{
		need("driver", "gpio", driver(&i.Driver, lidDrivers)),
		need("lines", "[LID-A, LID-B]", lineList(&lines, 2, 2)),
	}
	g := r.fields(n, "an interlock by GPIO", append(table, wiringFields(&i.Wiring)...))
	r.bias(g, &i.Wiring)
	if len(lines) == 2 {
		i.Lines = [2]string(lines)
	}
}

func (r *report) emergencyStop(n *node, s *StopEntry) {
	if n.word("driver") == "modbus" {
		r.stopInputs(n, s)
		return
	}
	table := []field{
		need("driver", "gpio", driver(&s.Driver, chainDrivers, "virtual")),
		need("lines", "[STOP-A, STOP-B]", lineList(&s.Lines, 1, 2)),
	}
	g := r.fields(n, "an emergency stop", append(table, wiringFields(&s.Wiring)...))
	r.bias(g, &s.Wiring)
}

func (r *report) contactor(n *node, c *ContactorEntry) {
	if n.word("driver") == "modbus" {
		r.contactorCoils(n, c)
		return
	}
	c.DropLevel = "low"
	table := []field{
		need("driver", "gpio", driver(&c.Driver, chainDrivers, "virtual")),
		need("pulse line", "CONTACTOR-PULSE", lineName(&c.PulseLine)),
		need("drop line", "CONTACTOR-DROP", lineName(&c.DropLine)),
		need("feedback line", "CONTACTOR-MIRROR", lineName(&c.FeedbackLine)),
		need("one-shot", "1 s", duration(&c.OneShot, 0.5, 1.2)),
		may("drop level", choice(&c.DropLevel, "low", "high")),
	}
	g := r.fields(n, "a contactor", append(table, wiringFields(&c.Wiring)...))
	r.bias(g, &c.Wiring)
	if g.all("pulse line", "drop line", "feedback line") {
		r.differ(g, "line", "pulse line", "drop line", "feedback line")
	}
}

// differ reports a line, or a coil, that stands under two of these keys.
func (r *report) differ(g given, place string, keys ...string) {
	for i, key := range keys {
		for _, before := range keys[:i] {
			if g.good[key].text == g.good[before].text {
				r.say(g.good[key], "%s: %q is the %s already; each needs a %s of its own", key, brief(g.good[key].text), before, place)
				return
			}
		}
	}
}

func (r *report) beacon(n *node, b *BeaconEntry) {
	if n.word("driver") == "modbus" {
		r.beaconCoils(n, b)
		return
	}
	b.Lit = "high"
	table := []field{
		need("driver", "gpio", driver(&b.Driver, chainDrivers, "virtual")),
		may("chip", deviceFile(&b.Chip, "/dev/gpiochip0")),
		may("lit level", choice(&b.Lit, "high", "low")),
	}
	r.lamps(n, "a beacon", table, "line", func(lamp string) reader {
		return func(r *report, n *node) {
			entry := LampEntry{Lamp: lamp}
			lineName(&entry.Line)(r, n)
			b.Lamps = append(b.Lamps, entry)
		}
	})
}

// lamps reads where each lamp hangs: at least one, each at a place of its own.
func (r *report) lamps(n *node, what string, table []field, place string, lamp func(word string) reader) given {
	var keys []string
	for _, word := range lampWords {
		keys = append(keys, word+" "+place)
		table = append(table, may(word+" "+place, lamp(word)))
	}
	g := r.fields(n, what, table)
	present := g.present(keys)
	switch {
	case n.kind == mapping && len(present) == 0:
		r.say(n, "%s needs one of: %s", what, strings.Join(keys, ", "))
	case g.all(present...):
		r.differ(g, place, present...)
	}
	return g
}

// wiringFields are the keys of a contact on a line.
func wiringFields(w *WiringEntry) []field {
	w.Closed = "high"
	return []field{
		may("chip", deviceFile(&w.Chip, "/dev/gpiochip0")),
		may("closed level", choice(&w.Closed, "high", "low")),
		may("bias", choice(&w.Bias, "pull-down", "pull-up", "none")),
	}
}

// bias fills in the pull that makes a loose wire read as open, and refuses the other.
func (r *report) bias(g given, w *WiringEntry) {
	fits, wrong := "pull-down", "pull-up"
	if w.Closed == "low" {
		fits, wrong = wrong, fits
	}
	if w.Bias == "" {
		w.Bias = fits
	}
	if w.Bias == wrong {
		r.say(g.seen["bias"], "bias: %s makes a loose wire read as a closed contact where closed is %s; %s or none is needed", wrong, w.Closed, fits)
	}
}

// lineList reads labels or numbers of lines, each once.
func lineList(to *[]string, least, most int) reader {
	return func(r *report, n *node) {
		if !r.is(n, list, "[LINE-A, LINE-B], labels of lines,") {
			return
		}
		if len(n.items) < least || len(n.items) > most {
			r.say(n, "lines: %d given; %s needed, such as [LINE-A, LINE-B]", len(n.items), howMany(least, most))
			return
		}
		*to = nil
		for _, item := range n.items {
			var name string
			lineName(&name)(r, item)
			if name != "" && slices.Contains(*to, name) {
				r.say(item, "lines: %q twice; each contact needs a line of its own", brief(name))
			}
			*to = append(*to, name)
		}
	}
}

func howMany(least, most int) string {
	if least == most {
		return "two are"
	}
	return "one or two are"
}

// word is what a key of a map says, before the map is read by its table.
func (n *node) word(key string) string {
	for _, e := range n.entries {
		if e.key.text == key && e.value.kind == scalar {
			return e.value.text
		}
	}
	return ""
}
