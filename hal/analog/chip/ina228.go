package chip

import (
	"context"
	"fmt"
	"time"

	"periph.io/x/conn/v3/i2c"

	"anodized/hal"
	"anodized/hal/unit"
)

// INA228 measures a shunt (163.84 or 40.96 mV) and a bus voltage of at most 85 V in
// 20 bits on I2C, at addresses 0x40 to 0x4F. At a supply of more volts the shunt
// belongs into the return lead and the bus voltage behind a divider.
type INA228 struct {
	registers
	fine bool
}

// NewINA228 takes the chip at an address; fine is the shunt range of 40.96 mV.
func NewINA228(bus i2c.Bus, address uint16, fine bool) *INA228 {
	return &INA228{newRegisters("INA228", bus, address), fine}
}

const (
	ina228Config    = 0x00
	ina228ADCConfig = 0x01
	ina228Shunt     = 0x04
	ina228Bus       = 0x05
	ina228Flags     = 0x0B
	ina228Maker     = 0x3E
	ina228Device    = 0x3F
	ina228Fine      = 0x0010
	ina228Once      = 0x3B69 // bus and shunt once, 4 averages of 1.052 ms each
	ina228Lasting   = 0x0FFF // all but the mode; after a restart FB68 is held
	ina228Finished  = 0x0002
	ina228Earliest  = 7 * time.Millisecond
	ina228Longest   = 30 * time.Millisecond
	ina228ShuntLSB  = 312.5e-9
	ina228FineLSB   = 78.125e-9
	ina228BusLSB    = 195.3125e-6
	ina228MostBus   = 85 / ina228BusLSB // the pin bears no more
)

// Shunt is the voltage across the shunt, positive from IN+ to IN-.
func (i *INA228) Shunt() Input { return &inaPin{i.registers, "shunt", i.start, i.shunt} }

// Bus is the voltage at the bus pin.
func (i *INA228) Bus() Input { return &inaPin{i.registers, "bus", i.start, i.bus} }

func (i *INA228) start(context.Context) error {
	if err := i.demand(map[byte]uint16{ina228Maker: texas}); err != nil {
		return err
	}
	device, err := i.read(ina228Device)
	if err == nil && device>>4 != 0x228 { // the last digit is the revision
		err = fmt.Errorf("%s: %w: it says that it is %04X, not 228x: another chip answers", i, hal.ErrGone, device)
	}
	return err
}

func (i *INA228) config() uint16 {
	if i.fine {
		return ina228Fine
	}
	return 0
}

// convert sets the range, starts one conversion and waits for its end. Writing the
// conversion's configuration clears the flag.
func (i *INA228) convert(ctx context.Context) error {
	if err := i.write(ina228Config, i.config()); err != nil {
		return err
	}
	if err := i.write(ina228ADCConfig, ina228Once); err != nil {
		return err
	}
	if err := pause(ctx, ina228Earliest); err != nil {
		return fmt.Errorf("%s: convert: cut off: %w", i, err)
	}
	err := until(ctx, i, "convert", ina228Longest, func() (bool, error) {
		flags, err := i.read(ina228Flags)
		return flags&ina228Finished != 0, err
	})
	if err != nil {
		return err
	}
	if err := i.configured(ina228Config, i.config(), 0xFFFF); err != nil {
		return err
	}
	return i.configured(ina228ADCConfig, ina228Once, ina228Lasting)
}

func (i *INA228) shunt(ctx context.Context) (unit.Volts, error) {
	code, err := i.result(ctx, ina228Shunt)
	if err == nil && (code == 1<<19-1 || code == -1<<19) {
		err = fmt.Errorf("%s: shunt: %w", i, ErrSaturated)
	}
	if i.fine {
		return unit.Volts(code) * ina228FineLSB, err
	}
	return unit.Volts(code) * ina228ShuntLSB, err
}

func (i *INA228) bus(ctx context.Context) (unit.Volts, error) {
	code, err := i.result(ctx, ina228Bus)
	if err == nil && code >= ina228MostBus {
		err = fmt.Errorf("%s: bus: %w: 85 V is the most that the pin bears", i, ErrSaturated)
	}
	return unit.Volts(code) * ina228BusLSB, err
}

func (i *INA228) result(ctx context.Context, register byte) (int32, error) {
	if err := i.convert(ctx); err != nil {
		return 0, err
	}
	answer, err := i.read24(register)
	return left20(answer), err
}
