package modbus

import (
	"context"
	"errors"
	"fmt"
	"time"

	"anodized/hal"
)

// DefaultTimeout is how long an answer of a lid switch may take where nothing else is
// said.
const DefaultTimeout = 300 * time.Millisecond

// Options say where the two channels are found.
type Options struct {
	Line     *Line         // nil: Dial gives a line of its own, over TCP
	Dial     Dial          // where no line is given
	Unit     int           // 0 to 255; 1 to 247 on a serial line
	Inputs   [2]int        // addresses from 0, different, less than 2000 apart
	Timeout  time.Duration // of one answer; 0: DefaultTimeout
	Loopback bool          // function 08 echoes a number
}

// Interlock is a lid switch whose two contacts are discrete inputs. It satisfies
// hal.Interlock. One goroutine owns it.
type Interlock struct{ contacts }

// New returns an interlock; it connects with the first reading.
func New(o Options) (*Interlock, error) {
	if o.Timeout == 0 {
		o.Timeout = DefaultTimeout
	}
	if err := o.check(); err != nil {
		return nil, err
	}
	if o.Line == nil {
		line, err := NewLine(LineOptions{Dial: o.Dial})
		if err != nil {
			return nil, err
		}
		o.Line = line
	}
	i := &Interlock{}
	i.device = device{line: o.Line, unit: byte(o.Unit), timeout: o.Timeout, loopback: o.Loopback}
	i.at("interlock", o.Inputs[:])
	return i, nil
}

func (o *Options) check() error {
	low, high := min(o.Inputs[0], o.Inputs[1]), max(o.Inputs[0], o.Inputs[1])
	switch {
	case o.Dial == nil && o.Line == nil:
		return errors.New("interlock: no way to connect was given")
	case o.Unit < 0 || o.Unit > 255:
		return fmt.Errorf("interlock: unit %d: 0 to 255 are allowed", o.Unit)
	case o.Line != nil && o.Line.framing == RTU && (o.Unit < 1 || o.Unit > 247):
		return fmt.Errorf("interlock: unit %d: 1 to 247 are allowed on a serial line", o.Unit)
	case low < 0 || high > 65535:
		return fmt.Errorf("interlock: inputs %v: addresses from 0 to 65535 are allowed", o.Inputs)
	case low == high:
		return fmt.Errorf("interlock: inputs %v: the two channels must be two different inputs", o.Inputs)
	case high-low >= mostInputs:
		return fmt.Errorf("interlock: inputs %v: both must fit in one reading, at most %d apart", o.Inputs, mostInputs-1)
	case o.Timeout < 0:
		return fmt.Errorf("interlock: timeout %v: it must not be negative", o.Timeout)
	}
	return nil
}

// Channels reads both channels in one exchange. Any error means open, and both
// channels beside it are open. On a serial line in doubt it waits for silence first.
func (i *Interlock) Channels(ctx context.Context) (hal.Channels, error) { return i.read(ctx) }
