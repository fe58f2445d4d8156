package bench

import (
	"context"
	"errors"
	"fmt"

	"anodized/hal/modbus"
	"anodized/profiles"
)

// checkRemote looks at the entries of the chain that hang on a remote module.
func checkRemote(b profiles.Bench) error {
	var errs []error
	if e := b.EmergencyStop; e != nil && e.Driver == "modbus" {
		_, err := newLine(e.Address, modbusWays...)
		errs = append(errs, named("emergency stop", err))
	}
	if e := b.Ventilation; e != nil && e.Driver == "modbus" {
		_, err := newLine(e.Address, modbusWays...)
		errs = append(errs, named("ventilation", err))
	}
	if e := b.Contactor; e != nil && e.Driver == "modbus" {
		_, err := newLine(e.Address, modbusWays...)
		errs = append(errs, named("contactor", err))
		if e.OneShot <= 0 {
			errs = append(errs, fmt.Errorf("%w: contactor: nothing is said of what holds it: a one-shot, or the module's watchdog", ErrFile))
		}
	}
	if e := b.Beacon; e != nil && e.Driver == "modbus" {
		_, err := newLine(e.Address, modbusWays...)
		errs = append(errs, named("beacon", err))
	}
	return errors.Join(errs...)
}

func named(entry string, err error) error {
	if err != nil {
		return fmt.Errorf("%s: %w", entry, err)
	}
	return nil
}

// openRemoteStop reads the contacts once.
func openRemoteStop(ctx context.Context, set *Set, entry profiles.StopEntry) error {
	line, err := set.modbusLine(entry.Address, 0)
	if err != nil {
		return err
	}
	stop, err := modbus.NewEmergencyStop(modbus.StopOptions{Line: line, Unit: entry.Unit, Inputs: entry.Inputs, Timeout: entry.Timeout, Loopback: entry.Loopback})
	if err != nil {
		return err
	}
	if _, err := stop.Contacts(ctx); err != nil {
		return err
	}
	set.EmergencyStop = stop
	return nil
}

// openRemoteContactor puts its coils out before anything else is asked.
func openRemoteContactor(ctx context.Context, set *Set, entry profiles.ContactorEntry) error {
	line, err := set.modbusLine(entry.Address, 0)
	if err != nil {
		return err
	}
	contactor, err := modbus.NewContactor(modbus.ContactorOptions{Line: line, Unit: entry.Unit, Timeout: entry.Timeout, Loopback: entry.Loopback,
		Pulse: entry.PulseCoil, Drop: entry.DropCoil, Feedback: entry.FeedbackInput, Watchdog: entry.Watchdog})
	if err != nil {
		return err
	}
	set.Contactor, set.OneShot = contactor, entry.OneShot
	if err := contactor.Halt(); err != nil {
		return err
	}
	_, err = contactor.Closed(ctx)
	return err
}

// openRemoteBeacon puts its coils out, so that one that is not there is found now.
func openRemoteBeacon(_ context.Context, set *Set, entry profiles.BeaconEntry) error {
	line, err := set.modbusLine(entry.Address, 0)
	if err != nil {
		return err
	}
	o := modbus.BeaconOptions{Line: line, Unit: entry.Unit, Timeout: entry.Timeout, Loopback: entry.Loopback}
	for _, one := range entry.Lamps {
		lamp, known := lampOf[one.Lamp]
		if !known {
			return fmt.Errorf("%w: beacon: lamp %q is not known", ErrFile, one.Lamp)
		}
		o.Lamps, o.Coils = append(o.Lamps, lamp), append(o.Coils, one.Coil)
	}
	beacon, err := modbus.NewBeacon(o)
	if err != nil {
		return err
	}
	if err := beacon.Halt(); err != nil {
		return err
	}
	set.keep(watching(beacon.Watch))
	set.Beacon = beacon
	return nil
}
