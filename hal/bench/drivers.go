package bench

import (
	"context"
	"errors"
	"fmt"
	"maps"
	"slices"
	"strings"

	"anodized/hal/probe"
	"anodized/hal/unit"
	"anodized/profiles"
)

// The table of drivers. A new driver is a line here.
var (
	supplies = map[string]func(context.Context, *Set, profiles.SupplyEntry) error{
		"scpi":   openSCPI,
		"modbus": openModbusSupply,
		"analog": openAnalog,
	}
	interlocks = map[string]func(context.Context, *Set, profiles.InterlockEntry) error{
		"modbus": openModbusInterlock,
		"gpio":   openLid,
	}
	thermometers = map[string]func(context.Context, *Set, profiles.ThermometerEntry) error{
		"onewire":  openOneWire,
		"max31865": openResistor,
		"modbus":   openModbusThermometer,
	}
	contactors = map[string]func(context.Context, *Set, profiles.ContactorEntry) error{
		"gpio":   openContactor,
		"modbus": openRemoteContactor,
	}
	stops = map[string]func(context.Context, *Set, profiles.StopEntry) error{
		"gpio":   openStop,
		"modbus": openRemoteStop,
	}
	ventilations = map[string]func(context.Context, *Set, profiles.VentilationEntry) error{
		"gpio":   openVentilation,
		"modbus": openRemoteVentilation,
	}
	voltmeters = map[string]func(context.Context, *Set, profiles.VoltmeterEntry, unit.Volts) (*probe.Meter, error){
		"scpi":   openMeter,
		"modbus": openVoltRegister,
		"analog": openVoltConverter,
	}
	colourSensors = map[string]func(context.Context, *Set, profiles.ColourSensorEntry) error{
		"as7341": openSpectral,
	}
	beacons = map[string]func(context.Context, *Set, profiles.BeaconEntry) error{
		"gpio":   openBeacon,
		"modbus": openRemoteBeacon,
	}
)

// The ways to the devices, by driver.
var (
	scpiWays   = []string{"tcp", "serial", "usbtmc"}
	modbusWays = []string{"tcp", "rtu", "rtu+tcp"}
)

// Check says whether every driver and address of a bench is one that can be
// opened. It opens nothing; its errors wrap ErrFile.
func Check(b profiles.Bench) error {
	if err := known(supplies, "supply", b.Supply.Driver); err != nil {
		return err
	}
	if err := checkSupply(b.Supply); err != nil {
		return fmt.Errorf("supply: %w", err)
	}
	if err := known(interlocks, "interlock", b.Interlock.Driver); err != nil {
		return err
	}
	if b.Interlock.Driver == "modbus" {
		if _, err := newLine(b.Interlock.Address, modbusWays...); err != nil {
			return fmt.Errorf("interlock: %w", err)
		}
	}
	if b.Temperature != nil {
		if err := known(thermometers, "bath temperature", b.Temperature.Driver); err != nil {
			return err
		}
		if err := checkThermometer(*b.Temperature); err != nil {
			return fmt.Errorf("bath temperature: %w", err)
		}
	}
	if b.ColourSensor != nil {
		if err := known(colourSensors, "colour sensor", b.ColourSensor.Driver); err != nil {
			return err
		}
	}
	if err := errors.Join(checkChain(b), checkRemote(b), checkVoltmeter(b)); err != nil {
		return err
	}
	if state := b.Supply.Dialect.MainsReturn; state != "halted" && b.Contactor == nil {
		return fmt.Errorf("%w: supply: dialect: mains_return is %q: without a contactor only a supply whose output stays off when the mains return (halted) may be used", ErrFile, state)
	}
	return nil
}

// checkSupply looks at what the driver of a supply needs of its entry.
func checkSupply(s profiles.SupplyEntry) error {
	if s.Driver == "analog" {
		return checkAnalog(s)
	}
	if s.Driver == "modbus" {
		return checkModbus(s)
	}
	_, err := newLine(s.Address, scpiWays...)
	return err
}

func known[F any](table map[string]F, entry, driver string) error {
	if _, ok := table[driver]; ok {
		return nil
	}
	names := strings.Join(slices.Sorted(maps.Keys(table)), ", ")
	if names == "" {
		return fmt.Errorf("%w: %s: driver %q: this version has no driver for a %s; take the entry out", ErrFile, entry, driver, entry)
	}
	return fmt.Errorf("%w: %s: driver %q is not known: %s", ErrFile, entry, driver, names)
}
