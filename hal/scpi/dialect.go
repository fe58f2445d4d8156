package scpi

import (
	"fmt"
	"slices"
	"strings"
	"time"
)

// Dialect is what an instrument does differently from the standard's habit. The
// zero value of a text or a time stands for its default; Status, Settle and
// MainsReturn have none and are required. Compound and OPC are taken as given.
type Dialect struct {
	SendEnd     string        // lf, crlf, cr; default lf
	ReplyEnd    string        // lf, crlf, cr, any; default any
	Echo        bool          // every line sent comes back first
	Ack         string        // the text that answers a set command; "" for none
	Enter       []string      // commands that take the instrument under remote control
	Leave       []string      // commands that give it back
	Compound    bool          // several commands on one line
	OPC         bool          // *OPC? is understood
	Errors      string        // queue, esr, none; default queue
	Probe       string        // ese, idn, reopen; default ese: how to find the step again
	OVP         string        // header of the over-voltage level, default VOLT:PROT:LEV; "none"
	Status      string        // questionable, operation, summary, none; required
	Timeout     time.Duration // of one answer; default 300 ms
	Gap         time.Duration // least pause between lines
	Settle      time.Duration // a younger reading does not judge a setpoint; required
	DecimalsV   int           // of the voltage setpoint, 0 to 6
	DecimalsA   int           // of the current limit, 0 to 6
	MainsReturn string        // halted, as_before, energised, unknown; required

	LostHostSwitch string        // header that switches the lost-host timer on and off; "": it has none
	LostHostDelay  string        // header of its delay in seconds
	LostHostAfter  time.Duration // that delay, 1 s to 3 s; default 1 s
}

// DefaultTimeout is how long an answer may take where the dialect does not say.
const DefaultTimeout = 300 * time.Millisecond

// withDefaults fills what was left out, and refuses what is not known or is missing.
func (d Dialect) withDefaults() (Dialect, error) {
	d.SendEnd = orDefault(d.SendEnd, "lf")
	d.ReplyEnd = orDefault(d.ReplyEnd, "any")
	d.Errors = orDefault(d.Errors, "queue")
	d.Probe = orDefault(d.Probe, "ese")
	d.OVP = orDefault(d.OVP, "VOLT:PROT:LEV")
	if d.Timeout == 0 {
		d.Timeout = DefaultTimeout
	}
	if d.hasLostHost() && d.LostHostAfter == 0 {
		d.LostHostAfter = ShortestLostHost
	}
	return d, d.check()
}

func orDefault(value, fallback string) string {
	if value == "" {
		return fallback
	}
	return value
}

func (d Dialect) check() error {
	choices := []struct {
		key, value string
		allowed    []string
	}{
		{"send_end", d.SendEnd, []string{"lf", "crlf", "cr"}},
		{"reply_end", d.ReplyEnd, []string{"lf", "crlf", "cr", "any"}},
		{"errors", d.Errors, []string{"queue", "esr", "none"}},
		{"probe", d.Probe, []string{"ese", "idn", "reopen"}},
		{"status", d.Status, []string{"questionable", "operation", "summary", "none"}},
		{"mains_return", d.MainsReturn, []string{"halted", "as_before", "energised", "unknown"}},
	}
	for _, c := range choices {
		if !slices.Contains(c.allowed, c.value) {
			return fmt.Errorf("dialect key %s is %q: it must be one of %s", c.key, c.value, strings.Join(c.allowed, ", "))
		}
	}
	return d.checkNumbers()
}

func (d Dialect) checkNumbers() error {
	switch {
	case d.Settle < 0:
		return fmt.Errorf("dialect key settle is %v: it must not be negative", d.Settle)
	case d.Timeout < time.Millisecond:
		return fmt.Errorf("dialect key timeout is %v: it must be 1 ms or more", d.Timeout)
	case d.Gap < 0:
		return fmt.Errorf("dialect key gap is %v: it must not be negative", d.Gap)
	case d.DecimalsV < 0 || d.DecimalsV > 6:
		return fmt.Errorf("dialect key decimals_v is %d: it must be 0 to 6", d.DecimalsV)
	case d.DecimalsA < 0 || d.DecimalsA > 6:
		return fmt.Errorf("dialect key decimals_a is %d: it must be 0 to 6", d.DecimalsA)
	case strings.EqualFold(d.OVP, "VOLT:PROT"):
		return fmt.Errorf("dialect key ovp is %q: bare, it is the level in one family and the on/off state in another; write VOLT:PROT:LEV", d.OVP)
	}
	return d.checkLostHost()
}

func (d Dialect) sendEnd() string {
	switch d.SendEnd {
	case "crlf":
		return "\r\n"
	case "cr":
		return "\r"
	}
	return "\n"
}
