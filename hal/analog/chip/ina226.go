package chip

import (
	"context"
	"fmt"
	"time"

	"periph.io/x/conn/v3/i2c"

	"anodized/hal"
	"anodized/hal/unit"
)

// INA226 measures a shunt (81.92 mV) and a bus voltage of at most 36 V on I2C, at
// addresses 0x40 to 0x4F. At a supply of more volts the shunt belongs into the
// return lead and the bus voltage behind a divider.
type INA226 struct{ registers }

// NewINA226 takes the chip at an address.
func NewINA226(bus i2c.Bus, address uint16) *INA226 {
	return &INA226{newRegisters("INA226", bus, address)}
}

const (
	ina226Config   = 0x00
	ina226Shunt    = 0x01
	ina226Bus      = 0x02
	ina226Flags    = 0x06
	ina226Maker    = 0xFE
	ina226Die      = 0xFF
	ina226Once     = 0x4323 // shunt and bus once, 4 averages of 1.1 ms each
	ina226Lasting  = 0xFFF8 // all but the mode; after a restart 4127 is held
	ina226Finished = 0x0008
	ina226Earliest = 7 * time.Millisecond // 8.8 ms, 10 % and more off
	ina226Longest  = 30 * time.Millisecond
	ina226ShuntLSB = 2.5e-6
	ina226BusLSB   = 1.25e-3
	ina226MostBus  = 36 / ina226BusLSB // the pin bears no more
	texas          = 0x5449            // "TI", of both monitors
)

// Shunt is the voltage across the shunt, positive from IN+ to IN-.
func (i *INA226) Shunt() Input { return &inaPin{i.registers, "shunt", i.start, i.shunt} }

// Bus is the voltage at the bus pin.
func (i *INA226) Bus() Input { return &inaPin{i.registers, "bus", i.start, i.bus} }

func (i *INA226) start(context.Context) error {
	return i.demand(map[byte]uint16{ina226Maker: texas, ina226Die: 0x2260})
}

// demand compares registers whose content is printed in the sheet.
func (r registers) demand(fixed map[byte]uint16) error {
	for register, want := range fixed {
		got, err := r.read(register)
		if err != nil {
			return err
		}
		if got != want {
			return fmt.Errorf("%s: %w: register %02X holds %04X, not %04X: another chip answers", r, hal.ErrGone, register, got, want)
		}
	}
	return nil
}

// convert starts one conversion and waits for its end.
func (i *INA226) convert(ctx context.Context) error {
	if _, err := i.read(ina226Flags); err != nil { // reading clears the flag
		return err
	}
	if err := i.write(ina226Config, ina226Once); err != nil {
		return err
	}
	if err := pause(ctx, ina226Earliest); err != nil {
		return fmt.Errorf("%s: convert: cut off: %w", i, err)
	}
	err := until(ctx, i, "convert", ina226Longest, func() (bool, error) {
		flags, err := i.read(ina226Flags)
		return flags&ina226Finished != 0, err
	})
	if err != nil {
		return err
	}
	return i.configured(ina226Config, ina226Once, ina226Lasting)
}

// configured demands that the chip still holds what it was told, in the bits of the
// mask: a chip may show its mode as shutdown after a single conversion.
func (r registers) configured(register byte, want, mask uint16) error {
	got, err := r.read(register)
	if err == nil && got&mask != want&mask {
		err = fmt.Errorf("%s: %w: it holds the configuration %04X, not %04X: it restarted", r, hal.ErrNoReading, got, want)
	}
	return err
}

func (i *INA226) shunt(ctx context.Context) (unit.Volts, error) {
	if err := i.convert(ctx); err != nil {
		return 0, err
	}
	code, err := i.read(ina226Shunt)
	if err == nil && (code == 0x7FFF || code == 0x8000) {
		err = fmt.Errorf("%s: shunt: %w of 81.92 mV", i, ErrSaturated)
	}
	return unit.Volts(int16(code)) * ina226ShuntLSB, err
}

func (i *INA226) bus(ctx context.Context) (unit.Volts, error) {
	if err := i.convert(ctx); err != nil {
		return 0, err
	}
	code, err := i.read(ina226Bus)
	if err == nil && code >= ina226MostBus {
		err = fmt.Errorf("%s: bus: %w: 36 V is the most that the pin bears", i, ErrSaturated)
	}
	return unit.Volts(code) * ina226BusLSB, err
}

// inaPin is one of the two voltages that a shunt monitor measures.
type inaPin struct {
	registers
	pin   string
	start func(context.Context) error
	take  func(context.Context) (unit.Volts, error)
}

func (p *inaPin) String() string { return p.registers.String() + " " + p.pin }

func (p *inaPin) Start(ctx context.Context) error { return p.start(ctx) }

func (p *inaPin) Read(ctx context.Context) (unit.Volts, error) {
	volts, err := p.take(ctx)
	if err != nil {
		return 0, err
	}
	return volts, nil
}
