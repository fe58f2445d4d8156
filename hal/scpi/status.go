package scpi

import (
	"strings"

	"anodized/hal"
)

// mode reads from the condition registers what regulates. Three layouts are in the
// field, and the same bit means different things in them, so the dialect says which.
func (s *Supply) mode() hal.Mode {
	switch s.dialect.Status {
	case "questionable":
		return questionableMode(s.answers.questionable)
	case "operation":
		return operationMode(s.answers.operation, s.answers.questionable)
	case "summary":
		if s.answers.questionable&(1<<12) != 0 {
			return hal.ModeUnregulated
		}
	}
	return hal.ModeUnknown
}

// questionableMode: bit 0 is "voltage unregulated", bit 1 "current unregulated".
func questionableMode(questionable int) hal.Mode {
	switch questionable & 3 {
	case 1:
		return hal.ModeConstantCurrent
	case 2:
		return hal.ModeConstantVoltage
	case 3:
		return hal.ModeUnregulated
	}
	return hal.ModeOff
}

// operationMode: OPERation bit 8 is constant voltage, bit 10 constant current,
// QUEStionable bit 10 unregulated.
func operationMode(operation, questionable int) hal.Mode {
	switch {
	case questionable&(1<<10) != 0:
		return hal.ModeUnregulated
	case operation&(1<<10) != 0:
		return hal.ModeConstantCurrent
	case operation&(1<<8) != 0:
		return hal.ModeConstantVoltage
	}
	return hal.ModeOff
}

// tripBits name the bits of QUEStionable that are trips, by layout.
var tripBits = map[string][]struct {
	bit  int
	word string
}{
	"questionable": {{4, "over-temperature"}, {9, "over-voltage"}, {10, "over-current"}},
	"operation":    {{0, "over-voltage"}, {1, "over-current"}, {4, "over-temperature"}},
	"summary":      {{11, "mains fail"}},
}

// trip says in words what the instrument has tripped on, "" for nothing.
func (s *Supply) trip() string {
	var words []string
	for _, t := range tripBits[s.dialect.Status] {
		if s.answers.questionable&(1<<t.bit) != 0 {
			words = append(words, t.word)
		}
	}
	if s.answers.voltageTrip && !strings.Contains(strings.Join(words, " "), "over-voltage") {
		words = append(words, "over-voltage")
	}
	if s.answers.outputTrip && len(words) == 0 {
		words = append(words, "its output protection")
	}
	return strings.Join(words, ", ")
}
