package bench

import (
	"context"
	"fmt"
	"time"

	"anodized/hal/modbus"
	"anodized/profiles"
)

// modbusLine gives the line to an address. Devices on one serial line, or behind one
// converter, share it; over TCP each has a connection of its own.
func (s *Set) modbusLine(address string, gap time.Duration) (*modbus.Line, error) {
	a, err := profiles.ParseAddress(address, modbusWays...)
	if err != nil {
		return nil, fmt.Errorf("%w: address: %w", ErrFile, err)
	}
	if a.Scheme == "tcp" {
		return s.keepLine(a, modbus.TCP, gap)
	}
	place := a.Device + a.Host
	if shared, ok := s.shared[place]; ok {
		if shared.address != a {
			return nil, fmt.Errorf("%w: address %q: another device is reached there with other settings", ErrFile, address)
		}
		return shared.line, nil
	}
	opened, err := s.keepLine(a, modbus.RTU, max(gap, s.gaps[place])+frameGap(a))
	if err != nil {
		return nil, err
	}
	if s.shared == nil {
		s.shared = map[string]sharedLine{}
	}
	s.shared[place] = sharedLine{a, opened}
	return opened, nil
}

// remember notes the gap that a supply needs on its line, for whoever opens that first.
func (s *Set) remember(entry profiles.SupplyEntry) {
	if entry.Modbus == nil {
		return
	}
	if a, err := profiles.ParseAddress(entry.Address, modbusWays...); err == nil { // else it is told where the supply is opened
		s.gaps = map[string]time.Duration{a.Device + a.Host: entry.Modbus.Gap}
	}
}

// sharedLine is a line that several devices are on.
type sharedLine struct {
	address profiles.Address
	line    *modbus.Line
}

func (s *Set) keepLine(a profiles.Address, framing modbus.Framing, gap time.Duration) (*modbus.Line, error) {
	l := lineTo(a)
	s.keep(l)
	return modbus.NewLine(modbus.LineOptions{Dial: l.modbus, Framing: framing, Gap: gap, Log: s.log})
}

// frameGap is the silence between RTU frames: 3.5 characters, and 1.75 ms above 19200
// bits a second (MODBUS over Serial Line V1.02, 2.5.1.1). A converter keeps its own.
func frameGap(a profiles.Address) time.Duration {
	if a.Device == "" || a.Baud > 19200 {
		return 1750 * time.Microsecond
	}
	return time.Duration(3.5 * float64(a.CharacterBits()) / float64(a.Baud) * float64(time.Second))
}

func checkModbus(s profiles.SupplyEntry) error {
	if s.Modbus == nil {
		return fmt.Errorf("%w: driver modbus needs a map", ErrFile)
	}
	_, err := newLine(s.Address, modbusWays...)
	return err
}

func checkThermometer(t profiles.ThermometerEntry) error {
	if t.Driver != "modbus" {
		return nil
	}
	if t.Register == nil {
		return fmt.Errorf("%w: driver modbus needs a register", ErrFile)
	}
	_, err := newLine(t.Address, modbusWays...)
	return err
}

func openModbusSupply(ctx context.Context, set *Set, entry profiles.SupplyEntry) error {
	m := entry.Modbus
	line, err := set.modbusLine(entry.Address, m.Gap)
	if err != nil {
		return err
	}
	supply, err := modbus.OpenSupply(ctx, modbus.SupplyOptions{
		Line: line, Unit: m.Unit, Timeout: m.Timeout, Map: registerMap(m.Map), Loopback: m.Loopback,
		Identification: m.Identification, Settle: m.Settle, MainsReturn: m.MainsReturn,
		HighestVolts: entry.HighestVoltage, HighestAmperes: entry.HighestCurrent, Log: set.log,
	})
	if err != nil {
		return err
	}
	set.Supply = supply
	return nil
}

// registerMap hands a bench file's map to the driver, which knows no file.
func registerMap(m profiles.RegisterMap) modbus.Map {
	all := modbus.Map{
		SetpointVoltage: modbus.Quantity(m.SetpointVoltage), SetpointCurrent: modbus.Quantity(m.SetpointCurrent),
		Output:          modbus.Output(m.Output),
		MeasuredVoltage: modbus.Quantity(m.MeasuredVoltage), MeasuredCurrent: modbus.Quantity(m.MeasuredCurrent),
	}
	if m.Status != nil {
		status := modbus.Status(*m.Status)
		all.Status = &status
	}
	return all
}

// openModbusInterlock reads the channels once, so that a device that does not
// answer is found before anything is switched on.
func openModbusInterlock(ctx context.Context, set *Set, entry profiles.InterlockEntry) error {
	line, err := set.modbusLine(entry.Address, 0)
	if err != nil {
		return err
	}
	interlock, err := modbus.New(modbus.Options{Line: line, Unit: entry.Unit, Inputs: entry.Inputs, Timeout: entry.Timeout, Loopback: entry.Loopback})
	if err != nil {
		return err
	}
	if _, err := interlock.Channels(ctx); err != nil {
		return err
	}
	set.Interlock = interlock
	return nil
}

func openModbusThermometer(_ context.Context, set *Set, entry profiles.ThermometerEntry) error {
	line, err := set.modbusLine(entry.Address, 0)
	if err != nil {
		return err
	}
	thermometer, err := modbus.NewThermometer(modbus.ThermometerOptions{Line: line, Unit: entry.Unit, Timeout: entry.Timeout,
		Loopback: entry.Loopback, Register: modbus.Quantity(*entry.Register)})
	if err != nil {
		return err
	}
	set.keep(watching(thermometer.Watch))
	set.Thermometer = thermometer
	return nil
}
