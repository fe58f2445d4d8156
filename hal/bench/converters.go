package bench

import (
	"context"
	"errors"
	"fmt"

	converter "anodized/hal/analog/chip"
	"anodized/profiles"
)

// output makes the driver of a program input's converter.
func (w *wires) output(c profiles.ConverterEntry) (converter.Output, error) {
	if c.Chip == "dac8562" {
		return w.dac8562(c)
	}
	bus, err := w.i2cBus(c.Bus)
	if err != nil {
		return nil, err
	}
	switch c.Chip {
	case "mcp4725":
		return converter.NewMCP4725(bus, uint16(c.Address), c.Span), nil
	case "ad5693r":
		return converter.NewAD5693R(bus, uint16(c.Address), c.Span > 4), nil
	}
	return nil, fmt.Errorf("%w: converter %q is not known: mcp4725, ad5693r, dac8562", ErrFile, c.Chip)
}

func (w *wires) dac8562(c profiles.ConverterEntry) (converter.Output, error) {
	dac, ok := w.chips[c.Device()].(*converter.DAC8562)
	if !ok {
		port, err := w.spiPort(c.Bus)
		if err != nil {
			return nil, err
		}
		dac = converter.NewDAC8562(port)
		w.chips[c.Device()] = dac
	}
	if c.Channel == "b" {
		return dac.Channel(1), nil
	}
	return dac.Channel(0), nil
}

// input makes the driver of a monitor's converter.
func (w *wires) input(c profiles.ConverterEntry) (converter.Input, error) {
	bus, err := w.i2cBus(c.Bus)
	if err != nil {
		return nil, err
	}
	address := uint16(c.Address)
	switch {
	case c.Chip == "ads1115" && len(c.Channel) == 1:
		adc, err := converter.NewADS1115(bus, address, c.Span)
		if err != nil {
			return nil, fmt.Errorf("%w: %w", ErrFile, err)
		}
		return adc.Channel(int(c.Channel[0] - '0')), nil
	case c.Chip == "ina226" && c.Channel == "bus":
		return converter.NewINA226(bus, address).Bus(), nil
	case c.Chip == "ina226":
		return converter.NewINA226(bus, address).Shunt(), nil
	case c.Chip == "ina228" && c.Channel == "bus":
		return converter.NewINA228(bus, address, false).Bus(), nil
	case c.Chip == "ina228":
		return converter.NewINA228(bus, address, c.Span < 0.1).Shunt(), nil
	}
	return nil, fmt.Errorf("%w: converter %q, channel %q, is not known: ads1115, ina226, ina228", ErrFile, c.Chip, c.Channel)
}

// Commission writes zero into the EEPROM of every converter that powers up at what
// its EEPROM holds, and reads it back. It returns which it wrote. It is for once in
// the life of a board, with the supply's mains off: until then the board may program
// half of the highest voltage before any software runs.
func Commission(ctx context.Context, b profiles.Bench) ([]string, error) {
	s := &Set{buses: kernelBuses()}
	return s.commission(ctx, b)
}

func (s *Set) commission(ctx context.Context, b profiles.Bench) (done []string, err error) {
	if b.Supply.Analog == nil {
		return nil, fmt.Errorf("%w: supply: driver %q has no converters to commission", ErrFile, b.Supply.Driver)
	}
	lock, err := takeLock(ctx, b.Supply)
	if err != nil {
		return nil, err
	}
	s.keep(lock)
	defer func() { err = errors.Join(err, s.Close()) }()
	w := s.newWires()
	for _, c := range b.Supply.Analog.Converters() {
		if c.Chip != "mcp4725" {
			continue
		}
		bus, err := w.i2cBus(c.Bus)
		if err != nil {
			return done, err
		}
		dac := converter.NewMCP4725(bus, uint16(c.Address), c.Span)
		if err := dac.Commission(ctx); err != nil {
			return done, fmt.Errorf("commission: %w", err)
		}
		done = append(done, dac.String())
	}
	return done, nil
}
