package scpi

import (
	"bytes"
	"fmt"
	"strings"

	"anodized/hal"
)

// InstrumentError is an entry of an instrument's error queue. It is a
// hal.ErrRefused, and a hal.ErrLocal where the panel has the instrument.
type InstrumentError struct {
	Number int    // SCPI-99; positive numbers are the instrument's own
	Text   string // the standard's words, or the instrument's
	Detail string // what the instrument adds after a semicolon
}

// Error says number, class, text and detail.
func (e InstrumentError) Error() string {
	text := fmt.Sprintf("%d %s", e.Number, e.Text)
	if e.Detail != "" {
		text += "; " + e.Detail
	}
	return text
}

// Is tells which sentinels of hal the error stands for.
func (e InstrumentError) Is(target error) bool {
	return target == hal.ErrRefused || target == hal.ErrLocal && e.Number == -201
}

// Class says whom the error concerns, after the ranges of SCPI-99.
func (e InstrumentError) Class() string {
	switch {
	case e.Number == 0:
		return "none"
	case e.Number > 0:
		return "device"
	case e.Number > -100:
		return "unknown"
	case e.Number > -200:
		return "command"
	case e.Number > -300:
		return "execution"
	case e.Number > -400:
		return "device"
	case e.Number > -500:
		return "query"
	}
	return "event"
}

// ParseInstrumentError reads an answer of SYSTem:ERRor?, such as
// -113,"Undefined header;VLOT". A number alone gets the standard's text.
func ParseInstrumentError(answer []byte) (InstrumentError, error) {
	number, text, _ := bytes.Cut(trimSpaces(answer), []byte(","))
	value, err := ParseNumber(number)
	if err != nil || value != float64(int(value)) || value < -32768 || value > 32767 {
		return InstrumentError{}, fmt.Errorf("answer %q: %w: an error number and a text were expected", clip(answer), errGarbled)
	}
	e := InstrumentError{Number: int(value)}
	e.Text, e.Detail, _ = strings.Cut(unquote(text), ";")
	e.Text, e.Detail = strings.TrimSpace(e.Text), strings.Trim(e.Detail, "; ")
	if e.Text == "" {
		e.Text = StandardText(e.Number)
	}
	return e, nil
}

// unquote takes off the quotes of a string and undoubles those inside.
func unquote(b []byte) string {
	text := strings.TrimSpace(string(b))
	if len(text) >= 2 && text[0] == '"' && text[len(text)-1] == '"' {
		text = text[1 : len(text)-1]
	}
	return strings.ReplaceAll(text, `""`, `"`)
}

// StandardText returns what SCPI-99 calls an error number, or words for one that
// the standard leaves to the maker.
func StandardText(number int) string {
	if text, ok := standardTexts[number]; ok {
		return text
	}
	return "an error of the instrument's own"
}
