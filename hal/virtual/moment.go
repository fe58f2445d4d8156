package virtual

import (
	"fmt"
	"math"
	"strconv"
	"strings"

	"anodized/hal/unit"
)

// From says what a moment counts from.
type From uint8

// The origins of moments.
const (
	Start   From = iota // the start of the bench
	On                  // the first energised second of the rack
	Hold                // the last rise of the setpoint before a hold
	Reached             // the first time that the output is at Volts
)

// Moment is when a fault begins. The zero moment is the start of the bench.
type Moment struct {
	From    From
	Seconds unit.Seconds
	Volts   unit.Volts
}

// AfterStart is so many seconds after the bench was started.
func AfterStart(s unit.Seconds) Moment { return Moment{From: Start, Seconds: s} }

// AfterOn is so many seconds after the rack was first energised.
func AfterOn(s unit.Seconds) Moment { return Moment{From: On, Seconds: s} }

// AfterHold is so many seconds after the setpoint last rose. A hold is recognised
// three seconds after that, with the supply regulating volts above 8 V: a pause
// at 8 V or less is a check of the contacts.
func AfterHold(s unit.Seconds) Moment { return Moment{From: Hold, Seconds: s} }

// AtVolts is when the true voltage of an energised output first reaches v.
func AtVolts(v unit.Volts) Moment { return Moment{From: Reached, Volts: v} }

// String writes a moment as [ParseMoment] reads it.
func (m Moment) String() string {
	seconds := strconv.FormatFloat(float64(m.Seconds), 'g', -1, 64) + "s"
	switch m.From {
	case On:
		return seconds
	case Hold:
		return "hold+" + seconds
	case Reached:
		return strconv.FormatFloat(float64(m.Volts), 'g', -1, 64) + "V"
	default:
		return "start+" + seconds
	}
}

const momentsAllowed = "20s (after the first energised second), 35V (reached), hold, hold+10s, start, start+2s"

// ParseMoment reads a moment: 20s, 35V, hold, hold+10s, start, start+2s.
func ParseMoment(text string) (Moment, error) {
	m, rest := Moment{From: On}, strings.TrimSpace(text)
	for word, from := range map[string]From{"hold": Hold, "start": Start} {
		if after, is := strings.CutPrefix(rest, word); is {
			m.From, rest = from, after
			if rest == "" {
				return m, nil
			}
			rest, is = strings.CutPrefix(rest, "+")
			if !is {
				return Moment{}, wrongMoment(text)
			}
			break // one word; "start+hold" is none
		}
	}
	if volts, is := cutUnit(rest, "V", "v"); is && m.From == On {
		value, err := positive(volts, 1e3)
		if err != nil {
			return Moment{}, wrongMoment(text)
		}
		return AtVolts(unit.Volts(value)), nil
	}
	seconds, err := parseSeconds(rest)
	if err != nil {
		return Moment{}, wrongMoment(text)
	}
	m.Seconds = unit.Seconds(seconds)
	return m, nil
}

func wrongMoment(text string) error {
	return fmt.Errorf("moment %q: allowed are %s", text, momentsAllowed)
}

func cutUnit(text string, units ...string) (string, bool) {
	for _, u := range units {
		if before, is := strings.CutSuffix(text, u); is {
			return strings.TrimSpace(before), true
		}
	}
	return text, false
}

func parseSeconds(text string) (float64, error) {
	if before, is := cutUnit(text, "ms"); is {
		value, err := positive(before, 1e9)
		return value / 1000, err
	}
	before, is := cutUnit(text, "s")
	if !is {
		return 0, fmt.Errorf("duration %q: s or ms is needed", text)
	}
	return positive(before, 1e6)
}

// positive reads a plain decimal from 0 to most.
func positive(text string, most float64) (float64, error) {
	if strings.Trim(text, "0123456789.") != "" {
		return 0, fmt.Errorf("number %q: digits and a point are allowed", text)
	}
	value, err := strconv.ParseFloat(text, 64)
	if err != nil || math.IsNaN(value) || value > most {
		return 0, fmt.Errorf("number %q: it must be from 0 to %g", text, most)
	}
	return value, nil
}
