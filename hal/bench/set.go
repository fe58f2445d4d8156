package bench

import (
	"context"
	"errors"
	"fmt"
	"io"
	"log/slog"
	"time"

	"anodized/hal"
	"anodized/profiles"
)

// The errors that tell whose turn it is.
var (
	ErrFile  = errors.New("mistake in the bench file")
	ErrInUse = errors.New("the bench is in use")
)

// Set is the open devices of one bench. Thermometer, Contactor, EmergencyStop,
// Ventilation, Beacon and Voltmeter are nil where the bench has none.
type Set struct {
	Supply      hal.Supply
	Interlock   hal.Interlock
	Thermometer hal.Thermometer
	Contactor   hal.Contactor
	OneShot     time.Duration // how long one pulse holds the contactor

	EmergencyStop hal.EmergencyStop
	Ventilation   hal.Ventilation
	Beacon        hal.Beacon
	Voltmeter     hal.Voltmeter
	MeterSettle   time.Duration // until the voltmeter shows a step

	ColourSensor hal.ColourSensor // nil where there is none; it advises, and stops nothing

	Identity  hal.Identity // of the supply
	Simulated bool         // the supply says that it is not real

	release func(context.Context) error // gives the supply back to its panel
	closers []io.Closer                 // in the order of opening
	log     *slog.Logger
	shared  map[string]sharedLine    // Modbus lines with several devices, by their place
	gaps    map[string]time.Duration // that a supply needs on its line
	wired   *wires                   // the buses with converters, once there is one
	chips   chips
	buses   buses
}

// Open opens the devices of a bench: the contactor first and dropped, then the supply,
// off.
func Open(ctx context.Context, b profiles.Bench, log *slog.Logger) (*Set, error) {
	if err := Check(b); err != nil {
		return nil, err
	}
	if log == nil {
		log = slog.New(slog.DiscardHandler)
	}
	s := &Set{log: log, chips: kernelChips(), buses: kernelBuses()}
	if err := s.open(ctx, b); err != nil {
		return nil, errors.Join(err, s.Close())
	}
	return s, nil
}

func (s *Set) open(ctx context.Context, b profiles.Bench) error {
	lock, err := takeLock(ctx, b.Supply)
	if err != nil {
		return err
	}
	s.keep(lock)
	s.remember(b.Supply)
	if err := s.openFirst(ctx, b); err != nil {
		return err
	}
	if err := supplies[b.Supply.Driver](ctx, s, b.Supply); err != nil {
		return fmt.Errorf("supply at %s: %w", b.Supply.Address, err)
	}
	if s.Identity, err = s.Supply.Identify(ctx); err != nil {
		return fmt.Errorf("supply at %s: %w", b.Supply.Address, err)
	}
	s.Simulated = s.Identity.Simulated()
	if err := interlocks[b.Interlock.Driver](ctx, s, b.Interlock); err != nil {
		return fmt.Errorf("interlock%s: %w", at(b.Interlock.Address), err)
	}
	if err := s.openRest(ctx, b); err != nil {
		return err
	}
	if b.Temperature == nil {
		return nil
	}
	if err := thermometers[b.Temperature.Driver](ctx, s, *b.Temperature); err != nil {
		return fmt.Errorf("bath temperature: %w", err)
	}
	return nil
}

// keep remembers what Close has to close, in the reverse order.
func (s *Set) keep(c io.Closer) { s.closers = append(s.closers, c) }

// Close switches the output off, then closes every device. Errors are joined: the
// rest is closed whatever fails.
func (s *Set) Close() error {
	errs := s.halt()
	if s.Supply != nil {
		ctx := context.Background()
		errs = append(errs, s.Supply.Halt(ctx))
		if s.release != nil {
			errs = append(errs, s.release(ctx))
		}
	}
	for i := len(s.closers) - 1; i >= 0; i-- {
		errs = append(errs, s.closers[i].Close())
	}
	s.Supply, s.closers = nil, nil
	return errors.Join(errs...)
}
