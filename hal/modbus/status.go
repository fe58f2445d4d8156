package modbus

import (
	"fmt"
	"strings"

	"anodized/hal"
)

// mode reads from the status bits what regulates.
func (s *Status) mode(m memory) hal.Mode {
	if s == nil {
		return hal.ModeUnknown
	}
	word := m.at(s.Table, s.Address, 1)[0]
	has := func(bit int) bool { return bit >= 0 && word&(1<<bit) != 0 }
	switch {
	case s.Energised >= 0 && !has(s.Energised):
		return hal.ModeOff
	case has(s.CV) && has(s.CC):
		return hal.ModeUnregulated
	case has(s.CV):
		return hal.ModeConstantVoltage
	case has(s.CC):
		return hal.ModeConstantCurrent
	case s.Energised >= 0 && s.CV >= 0 && s.CC >= 0:
		return hal.ModeUnregulated // it is on, and neither regulates
	}
	return hal.ModeUnknown
}

// energised tells what the status says of the output; false where it says nothing.
func (s *Status) energised(m memory) bool {
	return s != nil && s.Energised >= 0 && m.at(s.Table, s.Address, 1)[0]&(1<<s.Energised) != 0
}

// trip names the bits of the trips that are set, "" for none.
func (s *Status) trip(m memory) string {
	if s == nil {
		return ""
	}
	var set []string
	for _, bit := range s.Tripped {
		if bit >= 0 && m.at(s.Table, s.Address, 1)[0]&(1<<bit) != 0 {
			set = append(set, fmt.Sprintf("status bit %d", bit))
		}
	}
	return strings.Join(set, ", ")
}
