package controller

import (
	"errors"
	"fmt"
	"strings"

	"anodized/controller/fault"
	"anodized/controller/process"
	"anodized/controller/record"
	"anodized/hal"
	"anodized/hal/unit"
)

// sight is what was seen of a fault, in words.
type sight struct {
	message string // in place of the fault's own, where that would say what is not so; "" for none
	text    string
}

// sightOf is what an error of a driver says of a fault.
func sightOf(err error) sight {
	if errors.Is(err, hal.ErrRelinked) {
		return sight{"The link to the supply was lost and made anew; the output was switched off with that.", err.Error()}
	}
	return sight{text: err.Error()}
}

// trip is the row of a trip together with what was seen of it.
func (s *Station) trip(code fault.Code) *record.Trip {
	trip := tripOf(code)
	if trip == nil {
		return nil
	}
	seen := s.sightOf(code)
	if seen.message != "" {
		trip.Message = seen.message
	}
	if seen.text != "" {
		trip.Evidence = []string{seen.text}
		trip.Message += " Seen: " + strings.TrimSuffix(seen.text, ".") + "."
	}
	return trip
}

func (s *Station) sightOf(code fault.Code) sight {
	o := &s.owner
	if seen, known := o.seen[code]; known {
		return seen
	}
	switch code {
	case fault.InterlockOpen, fault.InterlockDisagrees:
		return s.lidWords()
	case fault.EmergencyStop:
		return s.stopWords()
	case fault.ContactorStuck:
		return s.mirrorWords()
	case fault.VentilationLost:
		return sight{text: s.airWords()}
	case fault.ControlAbsent:
		return sight{text: s.lateWords()}
	case fault.SupplySilent:
		return s.silenceWords()
	case fault.SupplyTouched:
		return sight{text: s.heldWords()}
	case fault.OutputStuckOn:
		words := fmt.Sprintf("the supply's output reads %s, its meter %s V", outputName(o.output), spelt(s.volts()))
		if !s.limits.Starvable() {
			words += "; " + s.unstarvable()
		}
		return sight{text: words}
	}
	return sight{text: s.runWords(code)}
}

// spelt is a number for people.
func spelt(n Number) string {
	if !n.Known() {
		return "unknown"
	}
	return fmt.Sprintf("%.4g", float64(n)+0) // a meter's negative zero is zero
}

// lidWords say which channel is open, or for how long none was read.
func (s *Station) lidWords() sight {
	o := &s.owner
	in := &o.input.Interlock
	switch open := openChannels(in.Closed); {
	case !in.OK:
		return sight{"The lid switch could not be read, which counts as open.",
			s.unreadWords("channel of the lid switch", in.At, o.lidError)}
	case open != "":
		return sight{text: open}
	case in.Moved:
		return sight{text: "a channel of the lid switch moved, and is closed again"}
	}
	return sight{text: "both channels read closed by now"}
}

// unreadWords say for how long something of the chain was not read, how much of that is of
// this computer's making, and why.
func (s *Station) unreadWords(what string, last unit.Seconds, why error) string {
	o := &s.owner
	words := fmt.Sprintf("no %s was read for %.2f s", what, float64(o.input.Now-last))
	if o.stoodFor > 0 {
		words += fmt.Sprintf(", of which this computer stood still for %.2f s", float64(o.stoodFor))
	}
	if why != nil {
		words += ": its input does not answer: " + why.Error()
	}
	return words
}

// openChannels names the channels that are not closed, "" for none.
func openChannels(closed [2]bool) string {
	switch closed {
	case [2]bool{false, false}:
		return "both channels are open"
	case [2]bool{false, true}:
		return "channel 1 is open, channel 2 closed"
	case [2]bool{true, false}:
		return "channel 2 is open, channel 1 closed"
	}
	return ""
}

func (s *Station) stopWords() sight {
	in := &s.owner.input.EmergencyStop
	switch {
	case !in.Fitted:
		return sight{text: "the contactor opened although it was pulsed and the lid is closed"}
	case !in.OK:
		return sight{"The emergency stop could not be read, which counts as pressed.",
			s.unreadWords("contact of the emergency stop", in.At, s.owner.stopError)}
	case in.Closed != [2]bool{true, true}:
		return sight{text: openChannels(in.Closed)}
	}
	return sight{text: "the contactor opened although it was pulsed and the lid is closed"}
}

// lateWords say how long the control was away: before its tick, in it, or between what it
// read and what it decided.
func (s *Station) lateWords() string {
	o := &s.owner
	in := &o.input
	period := unit.Seconds(o.period.Seconds())
	within := in.Now - o.at
	switch {
	case in.Now-in.Interlock.At > period:
		return fmt.Sprintf("the lid was read closed %.2f s before the tick was decided, which is too long ago", float64(in.Now-in.Interlock.At))
	case in.EmergencyStop.Fitted && in.Now-in.EmergencyStop.At > period:
		return fmt.Sprintf("the emergency stop was read released %.2f s before the tick was decided, which is too long ago", float64(in.Now-in.EmergencyStop.At))
	case within > max(o.late, period):
		return fmt.Sprintf("this tick had read its devices %.2f s after it began", float64(within))
	}
	return fmt.Sprintf("this tick came %.2f s late", float64(max(0, o.late)))
}

// silenceWords tell a supply that does not answer from one that answers without a reading.
func (s *Station) silenceWords() sight {
	o := &s.owner
	now := max(o.input.Now, o.input.Looked)
	age := fmt.Sprintf("the last reading is %.2f s old", float64(now-o.readAt))
	switch {
	case o.supplyError == nil:
		return sight{text: age}
	case errors.Is(o.supplyError, hal.ErrNoReading):
		return sight{"The supply answers without a reading (not a number, or beyond what it can have).", age + ": " + o.supplyError.Error()}
	}
	return sight{text: age + ": " + o.supplyError.Error()}
}

// heldWords compare what the supply holds with what it was told.
func (s *Station) heldWords() string {
	o := &s.owner
	held := &o.input.Held
	if held.Output == process.OutputOff {
		return "its output is off, and was switched on"
	}
	set, limit := o.last.Set, o.last.Limit
	if o.set.known && o.limit.known {
		set, limit = o.set.value, o.limit.value
	}
	return fmt.Sprintf("it holds %.4g V and %.4g A, and was left at %.4g V and %.4g A",
		float64(held.Set), float64(held.Limit), float64(set), float64(limit))
}
