package campaign

import (
	"fmt"
	"time"

	"anodized/hal/virtual"
)

// Late is something that happens at a moment which the timetable of the virtual bench does
// not know: so long after the Station came to a state, or after the first fault began.
type Late struct {
	State string        // of the Station; "": after the first fault began
	After time.Duration // then
	Fault virtual.Fault // where it has an ID

	Stall time.Duration // the ticks stand still so long
	Stop  bool          // a person stops
	Clock time.Duration // the wall clock steps by so much
}

// eventFirst says that the first fault of a case is no line of a timetable.
const eventFirst = "@"

// due tells whether it is time.
func (l *Late) due(p *pacer) bool {
	if l.State != "" {
		return p.state == l.State && p.due-p.entered >= l.After
	}
	return p.began >= 0 && p.due.Seconds() >= p.began+l.After.Seconds()
}

func (l *Late) do(p *pacer) {
	if l.Fault.ID != "" {
		p.inject(l.Fault)
	}
	if l.Stall > 0 {
		p.due += l.Stall
		p.report.stalled += l.Stall.Seconds()
	}
	if l.Stop {
		p.station.Stop(false, "as the case has it")
	}
	p.stepped += l.Clock
	if p.load.First == eventFirst && l == &p.load.Late[0] {
		p.began = p.due.Seconds()
	}
}

// String is the moment and what happens, for people.
func (l *Late) String() string {
	when := fmt.Sprintf("%v after the first fault", l.After)
	if l.State != "" {
		when = fmt.Sprintf("%s + %v", l.State, l.After)
	}
	switch {
	case l.Fault.ID != "":
		return fmt.Sprintf("%s: %v", when, l.Fault)
	case l.Stall > 0:
		return fmt.Sprintf("%s: the ticks stand still for %v", when, l.Stall)
	case l.Stop:
		return when + ": a person stops"
	}
	return fmt.Sprintf("%s: the wall clock steps by %v", when, l.Clock)
}

// timed tells whether the first fault comes at a moment of its own, not with the rack.
func (c *Case) timed() bool {
	for n := range c.Late {
		if c.First == eventFirst || c.Late[n].Fault.ID == c.First && c.First != "" {
			return true
		}
	}
	return false
}
