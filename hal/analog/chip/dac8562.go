package chip

import (
	"context"
	"fmt"

	"periph.io/x/conn/v3"

	"anodized/hal/unit"
)

// DAC8562 is a converter of two channels of 16 bits on SPI (mode 1, up to 50 MHz)
// that powers up at zero. Its sister that powers up at half scale takes the same
// commands and cannot be told from it by software: read the print on the chip.
type DAC8562 struct {
	port    conn.Conn
	started bool
}

// NewDAC8562 takes the chip behind an SPI connection of 8-bit words.
func NewDAC8562(port conn.Conn) *DAC8562 { return &DAC8562{port: port} }

const (
	dac8562Write     = 0x18 // write and update: + the channel
	dac8562LoadPin   = 0x30 // 3: outputs do not wait for the LDAC pin
	dac8562Reference = 0x38 // 1: the internal reference is on and the gain is 2
	dac8562Span      = 5    // V: twice the reference
)

// Channel is A (0) or B (1) of the chip.
func (d *DAC8562) Channel(channel int) Output { return &dac8562Channel{d, channel & 1} }

func (d *DAC8562) String() string { return "DAC8562" }

func (d *DAC8562) send(command byte, data int) error {
	bytes := []byte{command, byte(data >> 8), byte(data)}
	if err := d.port.Tx(bytes, make([]byte, len(bytes))); err != nil {
		return gone(d, fmt.Sprintf("write % X", bytes), err)
	}
	return nil
}

// start makes both channels zero and switches the reference on, which is off at
// power-up. A second start does nothing: the first channel may be in use.
func (d *DAC8562) start() error {
	if d.started {
		return nil
	}
	for _, s := range []struct {
		command byte
		data    int
	}{{dac8562Write, 0}, {dac8562Write + 1, 0}, {dac8562LoadPin, 3}, {dac8562Reference, 1}} {
		if err := d.send(s.command, s.data); err != nil {
			return err
		}
	}
	d.started = true
	return nil
}

type dac8562Channel struct {
	chip    *DAC8562
	channel int
}

func (c *dac8562Channel) Codes() int            { return 1 << 16 }
func (c *dac8562Channel) FullScale() unit.Volts { return dac8562Span }
func (c *dac8562Channel) String() string        { return fmt.Sprintf("DAC8562 %c", 'A'+rune(c.channel)) }

// Read is [ErrWriteOnly]: the chip has no data output.
func (c *dac8562Channel) Read() (int, error) {
	return 0, fmt.Errorf("%s: %w", c, ErrWriteOnly)
}

func (c *dac8562Channel) Write(code int) error {
	if err := inCodes(c, code); err != nil {
		return err
	}
	return c.chip.send(dac8562Write+byte(c.channel), code)
}

func (c *dac8562Channel) Start(context.Context) error {
	if err := c.chip.start(); err != nil {
		return err
	}
	return startAtZero(c)
}
