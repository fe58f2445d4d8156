package chip

import (
	"context"
	"fmt"

	"periph.io/x/conn/v3/i2c"

	"anodized/hal/unit"
)

// AD5693R is a converter of 16 bits on I2C, at addresses 0x4C to 0x4F, with a
// reference of 2.5 V and a span of that or of twice that. It powers up at zero.
type AD5693R struct {
	device i2c.Dev
	double bool
}

// NewAD5693R takes the chip at an address. Doubled, its span is 5 V, otherwise 2.5 V.
func NewAD5693R(bus i2c.Bus, address uint16, double bool) *AD5693R {
	return &AD5693R{i2c.Dev{Bus: bus, Addr: address}, double}
}

const (
	ad5693rWrite   = 0x30 // write the input register and the output
	ad5693rControl = 0x40
	ad5693rDouble  = 0x08 // in the high byte of the control register
	ad5693rVolts   = 2.5
)

// Codes is 65536.
func (a *AD5693R) Codes() int { return 1 << 16 }

// FullScale is 2.5 or 5 V.
func (a *AD5693R) FullScale() unit.Volts {
	if a.double {
		return 2 * ad5693rVolts
	}
	return ad5693rVolts
}

func (a *AD5693R) String() string { return fmt.Sprintf("AD5693R at 0x%02x", a.device.Addr) }

// Write sets input register and output.
func (a *AD5693R) Write(code int) error {
	if err := inCodes(a, code); err != nil {
		return err
	}
	return a.send(ad5693rWrite, byte(code>>8), byte(code))
}

func (a *AD5693R) send(bytes ...byte) error {
	if err := a.device.Tx(bytes, nil); err != nil {
		return gone(a, fmt.Sprintf("write % X", bytes), err)
	}
	return nil
}

// Read tells the code in the input register.
func (a *AD5693R) Read() (int, error) {
	var answer [2]byte
	if err := a.device.Tx(nil, answer[:]); err != nil {
		return 0, gone(a, "read its input register", err)
	}
	return int(answer[0])<<8 | int(answer[1]), nil
}

// Start writes zero, then the span, so that a wrong span never sees another code.
func (a *AD5693R) Start(context.Context) error {
	if err := startAtZero(a); err != nil {
		return err
	}
	span := byte(0)
	if a.double {
		span = ad5693rDouble
	}
	if err := a.send(ad5693rControl, span, 0); err != nil {
		return err
	}
	return startAtZero(a)
}
