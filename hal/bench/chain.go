package bench

import (
	"context"
	"errors"
	"fmt"

	"anodized/profiles"
)

// checkChain says whether the entries beside the supply and the thermometer can be
// opened.
func checkChain(b profiles.Bench) error {
	if b.Interlock.Driver == "gpio" {
		if err := checkLines("interlock", b.Interlock.Wiring.Chip, &b.Interlock.Wiring, b.Interlock.Lines[:]...); err != nil {
			return err
		}
	}
	if e := b.EmergencyStop; e != nil && e.Driver != "modbus" {
		if err := errors.Join(known(stops, "emergency stop", e.Driver), checkLines("emergency stop", e.Wiring.Chip, &e.Wiring, e.Lines...)); err != nil {
			return err
		}
	}
	if e := b.Ventilation; e != nil && e.Driver != "modbus" {
		if err := errors.Join(known(ventilations, "ventilation", e.Driver), checkLines("ventilation", e.Wiring.Chip, &e.Wiring, e.Line)); err != nil {
			return err
		}
	}
	if e := b.Contactor; e != nil && e.Driver != "modbus" {
		if err := errors.Join(known(contactors, "contactor", e.Driver),
			checkLines("contactor", e.Wiring.Chip, &e.Wiring, e.PulseLine, e.DropLine, e.FeedbackLine)); err != nil {
			return err
		}
	}
	if e := b.Beacon; e != nil && e.Driver != "modbus" {
		var lines []string
		for _, lamp := range e.Lamps {
			lines = append(lines, lamp.Line)
		}
		return errors.Join(known(beacons, "beacon", e.Driver), checkLines("beacon", e.Chip, nil, lines...))
	}
	return nil
}

// openFirst drops the contactor, before anything is said to the supply.
func (s *Set) openFirst(ctx context.Context, b profiles.Bench) error {
	if b.Contactor == nil {
		return nil
	}
	if err := contactors[b.Contactor.Driver](ctx, s, *b.Contactor); err != nil {
		return fmt.Errorf("contactor: %w", err)
	}
	return nil
}

// openRest opens what tells and what shows.
func (s *Set) openRest(ctx context.Context, b profiles.Bench) error {
	if b.EmergencyStop != nil {
		if err := stops[b.EmergencyStop.Driver](ctx, s, *b.EmergencyStop); err != nil {
			return fmt.Errorf("emergency stop: %w", err)
		}
	}
	if b.Ventilation != nil {
		if err := ventilations[b.Ventilation.Driver](ctx, s, *b.Ventilation); err != nil {
			return fmt.Errorf("ventilation: %w", err)
		}
	}
	if b.Beacon != nil {
		if err := beacons[b.Beacon.Driver](ctx, s, *b.Beacon); err != nil {
			return fmt.Errorf("beacon: %w", err)
		}
	}
	if b.ColourSensor != nil {
		if err := colourSensors[b.ColourSensor.Driver](ctx, s, *b.ColourSensor); err != nil {
			return fmt.Errorf("colour sensor on %s: %w", b.ColourSensor.Bus, err)
		}
	}
	return s.openVoltmeter(ctx, b)
}

// halt drops the contactor and puts the beacon out.
func (s *Set) halt() (errs []error) {
	if s.Contactor != nil {
		errs = append(errs, s.Contactor.Halt())
	}
	if s.Beacon != nil {
		errs = append(errs, s.Beacon.Halt())
	}
	s.Contactor, s.Beacon = nil, nil
	return errs
}

// at says where a device is, if that is an address.
func at(address string) string {
	if address == "" {
		return ""
	}
	return " at " + address
}
