package profiles

import (
	"fmt"
	"path"
	"slices"
	"strconv"
	"strings"
	"unicode"
)

// pin is a GPIO line that a bench uses, and where the file says so.
type pin struct {
	owner      string
	chip, name string
	at         *node
}

// pins are the GPIO lines of the entries that were read well.
func pins(g given, b *Bench) (all []pin) {
	for _, e := range b.entries() {
		n := g.good[e.name]
		if n == nil {
			continue
		}
		for _, line := range e.lines {
			all = append(all, pin{e.name, e.chip, line.name, line.at(n)})
		}
	}
	return all
}

// linesApart refuses a line that two contacts share, and a number without its chip.
func (r *report) linesApart(g given, b *Bench) {
	all := pins(g, b)
	for i, p := range all {
		if p.numbered() && p.chip == "" {
			r.say(p.at, "%sline %s is a number, so the chip must be named, such as \"chip: /dev/gpiochip0\"", prefix(p.at), p.name)
			continue
		}
		if before := slices.IndexFunc(all[:i], p.same); before >= 0 {
			r.say(p.at, "%s%q is a line of the %s already; each contact needs a line of its own", prefix(p.at), brief(p.name), all[before].owner)
		}
	}
}

func (p pin) numbered() bool {
	_, err := strconv.ParseUint(p.name, 10, 32)
	return err == nil
}

// same tells whether both are one line. A label without a chip may be on any chip, so
// that where one names its chip, the other has to.
func (p pin) same(other pin) bool {
	if p.numbered() && other.numbered() {
		one, _ := strconv.ParseUint(p.name, 10, 32) // both are numbers
		two, _ := strconv.ParseUint(other.name, 10, 32)
		return p.chip == other.chip && one == two
	}
	return p.name == other.name && (p.chip == other.chip || p.chip == "" || other.chip == "")
}

// lineName reads the label or the number of a GPIO line, as the kernel holds it.
func lineName(to *string) reader {
	return valued(func(s string) error {
		s = strings.TrimSpace(s)
		_, number := strconv.Atoi(s)
		switch {
		case s == "":
			return fmt.Errorf("the text is empty")
		case len(s) > longestLine:
			return fmt.Errorf("the label has %d bytes; the kernel's labels have at most %d", len(s), longestLine)
		case strings.ContainsFunc(s, unicode.IsControl):
			return fmt.Errorf("the text has a control character")
		case number == nil && strings.ContainsAny(s[:1], "+-"):
			return fmt.Errorf("%q is neither the label nor the number of a line; numbers begin with 0", s)
		}
		*to = s
		return nil
	})
}

// deviceFile reads the path of a device.
func deviceFile(to *string, example string) reader {
	return valued(func(s string) error {
		if len(s) > 100 || !strings.HasPrefix(s, "/dev/") || path.Clean(s) != s || strings.ContainsFunc(s, unicode.IsControl) {
			return fmt.Errorf("%q is no device file; such as %q is needed", brief(s), example)
		}
		*to = s
		return nil
	})
}
