package gpio

import (
	"context"
	"fmt"

	"anodized/hal"
)

// EmergencyStop is the extra contacts of an emergency stop, one or two.
type EmergencyStop struct{ contacts contacts }

// StopRequest asks for one or two contacts together.
func StopRequest(names []string, w Wiring) Request {
	r := Request{Consumer: "anodized emergency stop"}
	for _, name := range names {
		r.Lines = append(r.Lines, w.input(name, false))
	}
	return r
}

// NewEmergencyStop returns the emergency stop on the lines of a [StopRequest].
func NewEmergencyStop(lines Lines, count int) *EmergencyStop {
	return &EmergencyStop{contacts{lines: lines, count: min(max(count, 1), 2)}}
}

// Contacts reads the contacts in one call.
func (e *EmergencyStop) Contacts(ctx context.Context) (hal.Channels, error) {
	channels, err := e.contacts.read(ctx)
	if err != nil {
		return hal.Channels{}, fmt.Errorf("read the emergency stop: %w", err)
	}
	return channels, nil
}
