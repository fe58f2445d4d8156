package bench

import (
	"context"
	"fmt"

	"anodized/hal"
	"anodized/hal/analog"
	"anodized/hal/modbus"
	"anodized/hal/probe"
	"anodized/hal/scpi"
	"anodized/hal/unit"
	"anodized/profiles"
)

// checkVoltmeter says whether the voltmeter of a bench can be opened.
func checkVoltmeter(b profiles.Bench) error {
	v := b.Voltmeter
	if v == nil {
		return nil
	}
	if err := known(voltmeters, "voltmeter", v.Driver); err != nil {
		return err
	}
	var err error
	switch {
	case v.Driver == "modbus" && v.Register == nil:
		err = fmt.Errorf("%w: driver modbus needs a register", ErrFile)
	case v.Driver == "modbus":
		_, err = newLine(v.Address, modbusWays...)
	case v.Driver == "analog" && v.Converter == nil:
		err = fmt.Errorf("%w: driver analog needs a converter", ErrFile)
	case v.Driver == "analog":
		if _, _, line := v.Converter.Line(); line != nil {
			err = fmt.Errorf("%w: the calibration of the %s: %w", ErrFile, v.Converter.Chip, line)
		}
	default:
		_, err = newLine(v.Address, scpiWays...)
	}
	if err != nil {
		return fmt.Errorf("voltmeter: %w", err)
	}
	return nil
}

// openVoltmeter reads the meter once, so that one that does not answer is found now, and
// lets it be read beside everything else.
func (s *Set) openVoltmeter(ctx context.Context, b profiles.Bench) error {
	if b.Voltmeter == nil {
		return nil
	}
	meter, err := voltmeters[b.Voltmeter.Driver](ctx, s, *b.Voltmeter, b.Supply.HighestVoltage)
	if err == nil {
		err = meter.First(ctx)
	}
	if err != nil {
		return fmt.Errorf("voltmeter%s: %w", at(b.Voltmeter.Address), err)
	}
	s.keep(watching(meter.Watch))
	s.Voltmeter, s.MeterSettle = meter, b.Voltmeter.Settle
	return nil
}

func openMeter(ctx context.Context, set *Set, entry profiles.VoltmeterEntry, highest unit.Volts) (*probe.Meter, error) {
	line, err := newLine(entry.Address, scpiWays...)
	if err != nil {
		return nil, err
	}
	set.keep(line)
	conn, err := line.dial(ctx)
	if err != nil {
		return nil, fmt.Errorf("connect: %w: %w", hal.ErrGone, err)
	}
	d := entry.Dialect
	meter, err := scpi.OpenVoltmeter(ctx, scpi.VoltmeterOptions{Transport: conn, Redial: line.scpi, KeepOpen: line.keep,
		Query: d.Query, SendEnd: d.SendEnd, ReplyEnd: d.ReplyEnd, Echo: d.Echo, Enter: d.Enter, Probe: d.Probe,
		Timeout: d.Timeout, Gap: d.Gap, Highest: highest, Log: set.log})
	if err != nil {
		return nil, err
	}
	return probe.NewMeter(meter.Read), nil
}

func openVoltRegister(_ context.Context, set *Set, entry profiles.VoltmeterEntry, _ unit.Volts) (*probe.Meter, error) {
	line, err := set.modbusLine(entry.Address, 0)
	if err != nil {
		return nil, err
	}
	return modbus.NewVoltmeter(modbus.VoltmeterOptions{Line: line, Unit: entry.Unit, Timeout: entry.Timeout,
		Loopback: entry.Loopback, Register: modbus.Quantity(*entry.Register)})
}

func openVoltConverter(ctx context.Context, set *Set, entry profiles.VoltmeterEntry, _ unit.Volts) (*probe.Meter, error) {
	monitor, err := set.newWires().monitor("voltmeter", *entry.Converter)
	if err != nil {
		return nil, err
	}
	meter, err := analog.OpenVoltmeter(ctx, monitor)
	if err != nil {
		return nil, err
	}
	return probe.NewMeter(meter.Read), nil
}
