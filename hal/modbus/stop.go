package modbus

import (
	"context"
	"fmt"
	"slices"
	"time"

	"anodized/hal"
)

// StopOptions say where the contacts of an emergency stop are found.
type StopOptions struct {
	Line     *Line
	Unit     int           // 1 to 247; 0 and 255 over TCP as well
	Inputs   []int         // one discrete input or two different ones, less than 2000 apart
	Timeout  time.Duration // of one answer; 0: DefaultTimeout
	Loopback bool          // function 08 echoes a number
}

// EmergencyStop is the extra contacts of an emergency stop on discrete inputs. It
// satisfies hal.EmergencyStop. One goroutine owns it.
type EmergencyStop struct{ contacts }

// NewEmergencyStop returns an emergency stop; it connects with the first reading.
func NewEmergencyStop(o StopOptions) (*EmergencyStop, error) {
	d, err := newDevice("emergency stop", o.Line, o.Unit, o.Timeout, o.Loopback)
	if err != nil {
		return nil, err
	}
	if err := o.check(); err != nil {
		return nil, err
	}
	e := &EmergencyStop{}
	e.device = *d
	e.at("emergency stop", o.Inputs)
	return e, nil
}

func (o *StopOptions) check() error {
	if len(o.Inputs) < 1 || len(o.Inputs) > 2 {
		return fmt.Errorf("emergency stop: inputs %v: one or two are needed", o.Inputs)
	}
	low, high := slices.Min(o.Inputs), slices.Max(o.Inputs)
	switch {
	case low < 0 || high > 65535:
		return fmt.Errorf("emergency stop: inputs %v: addresses from 0 to 65535 are allowed", o.Inputs)
	case len(o.Inputs) == 2 && low == high:
		return fmt.Errorf("emergency stop: inputs %v: each contact needs an input of its own", o.Inputs)
	case high-low >= mostInputs:
		return fmt.Errorf("emergency stop: inputs %v: both must fit in one reading, at most %d apart", o.Inputs, mostInputs-1)
	}
	return nil
}

// Contacts reads the contacts in one exchange. Any error means pressed.
func (e *EmergencyStop) Contacts(ctx context.Context) (hal.Channels, error) { return e.read(ctx) }
