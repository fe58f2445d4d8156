package profiles

import (
	"fmt"
	"regexp"
	"strings"
)

// chipsApart refuses a second chip behind one SPI select, and one range that two entries
// want differently of one chip.
func (r *report) chipsApart(g given, b *Bench) {
	if !g.all("supply") || b.Supply.Analog == nil {
		return
	}
	for _, own := range b.Supply.Analog.Converters() {
		if t := b.Temperature; t != nil && g.all("bath temperature") && t.Bus != "" && t.Bus == own.Bus {
			r.say(g.good["bath temperature"].value("bus"), "bus: the %s of the supply is behind %s already; two chips need two selects", own.Chip, own.Bus)
			return
		}
		if v := b.Voltmeter; v != nil && g.all("voltmeter") && v.Converter != nil && own.Chip == "ads1115" &&
			own.Device() == v.Converter.Device() && own.Chip == v.Converter.Chip && own.Span != v.Converter.Span {
			at := g.good["voltmeter"].value("converter")
			r.say(at, "%sthe %s at %s has one range for all its channels: the supply has %v V, the voltmeter %v V", prefix(at), own.Chip, own.Device(), float64(own.Span), float64(v.Converter.Span))
			return
		}
	}
}

// sameInstrument tells whether two addresses lead to one instrument.
func sameInstrument(one, other string) bool {
	a, err := ParseAddress(one, "tcp", "serial", "usbtmc")
	b, err2 := ParseAddress(other, "tcp", "serial", "usbtmc")
	return err == nil && err2 == nil && a.samePlace(b)
}

// trueEnd is the value at the end of a converter's range, by its calibration where it
// has one.
func (c ConverterEntry) trueEnd() float64 {
	gain, offset, err := c.Line()
	if err != nil { // told at the calibration
		return c.End()
	}
	return gain*c.End() + offset
}

// mostDeadBand is the share of the highest value below which a supply may not follow, our
// choice: a contact check at 8 V must still be possible.
const mostDeadBand = 0.1

func (r *report) deadBand(n *node, c ConverterEntry, highest float64, symbol string) {
	if c.DeadBand > mostDeadBand*highest {
		r.say(n.value("dead band"), "dead band: %v %s is more than a tenth of the highest, %v %s", c.DeadBand, symbol, highest, symbol)
	}
}

// DS18B20 chips as the kernel writes them, and as 16 digits, which end with the family.
var romCode = regexp.MustCompile(`^(28-[0-9a-f]{12}|(0x)?[0-9a-f]{14}28)$`)

func romCodeOf(to *string) reader {
	return valued(func(s string) error {
		if !romCode.MatchString(strings.ToLower(s)) {
			return fmt.Errorf("%q is no ROM code of a DS18B20; 28- and 12 hexadecimal digits, or 16 that end with 28, are needed, such as 28-000001318252", brief(s))
		}
		*to = s
		return nil
	})
}

// command reads one line that an instrument is told: a question would leave an answer
// behind, which the next one would take for its own.
func command(to *string, most int) reader {
	return oneLine(to, most, func(s string) error {
		if strings.Contains(s, "?") {
			return fmt.Errorf("%q is a question; only commands that nothing answers can stand here", brief(s))
		}
		return nil
	})
}

// question reads one line that an instrument answers.
func question(to *string, most int) reader {
	return oneLine(to, most, func(s string) error {
		if !strings.Contains(s, "?") {
			return fmt.Errorf("%q is no question; an instrument answers to what has a ?, such as MEAS:VOLT:DC?", brief(s))
		}
		return nil
	})
}

// header reads the header of the over-voltage level, or none.
func header(to *string, most int) reader {
	return oneLine(to, most, func(s string) error {
		switch {
		case strings.EqualFold(s, "VOLT:PROT"):
			return fmt.Errorf("%q alone is the level for some instruments and the on/off state for others; write VOLT:PROT:LEV", s)
		case strings.ContainsAny(s, "? ;"):
			return fmt.Errorf("%q is no header; it has no ?, no space and no value, such as VOLT:PROT:LEV, or none", brief(s))
		}
		return nil
	})
}

// oneLine reads a text for an instrument: printable ASCII (SCPI-99 vol. 1, 6.1: headers are
// ASCII), since a line end in it would be two messages.
func oneLine(to *string, most int, judge func(string) error) reader {
	read := text(to, most)
	return func(r *report, n *node) {
		before := len(r.mistakes)
		if read(r, n); len(r.mistakes) > before {
			return
		}
		if strings.ContainsFunc(*to, func(c rune) bool { return c < ' ' || c > '~' }) {
			r.say(n, "%s%q has a character that no command has; printable ASCII on one line is needed", prefix(n), brief(*to))
			return
		}
		if err := judge(*to); err != nil {
			r.say(n, "%s%v", prefix(n), err)
		}
	}
}
