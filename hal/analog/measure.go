package analog

import (
	"context"
	"errors"
	"fmt"
	"math"
	"time"

	"anodized/hal"
	"anodized/hal/analog/chip"
	"anodized/hal/unit"
)

var noSample = hal.Sample{Volts: unit.Volts(math.NaN()), Amperes: unit.Amperes(math.NaN())}

// Measure converts both monitors, one after the other, within 100 ms.
func (s *Supply) Measure(ctx context.Context) (hal.Sample, error) {
	if err := s.own(); err != nil {
		return noSample, err
	}
	defer s.disown()
	sample, err := s.sample(ctx)
	if err != nil {
		return noSample, fmt.Errorf("measure: %w", err)
	}
	return sample, nil
}

func (s *Supply) sample(ctx context.Context) (hal.Sample, error) {
	on, err := s.energised()
	if err != nil {
		return noSample, err
	}
	asked := time.Now()
	volts, amperes, err := s.monitors(ctx)
	if errors.Is(err, errOver) {
		return noSample, s.overvoltage(err)
	}
	if err != nil {
		return noSample, err
	}
	if !on {
		s.tripped = "" // what was above the range is within it again, behind an open contact
	}
	took := time.Since(asked)
	return hal.Sample{Volts: unit.Volts(volts), Amperes: unit.Amperes(amperes), Mode: s.mode(on, volts, amperes), At: asked.Add(took / 2), Took: took}, nil
}

// monitors reads both in one job where they share a bus, and in the time of one.
func (s *Supply) monitors(ctx context.Context) (volts, amperes float64, err error) {
	v, a := s.o.VoltMonitor, s.o.AmpereMonitor
	limited, cancel := context.WithTimeout(ctx, Longest)
	defer cancel()
	volts, err = ask(limited, v.Lane, v.read)
	if errors.Is(err, chip.ErrSaturated) {
		return 0, 0, fmt.Errorf("%w: %w", errOver, err)
	}
	if err == nil {
		amperes, err = ask(limited, a.Lane, a.read)
	}
	switch {
	case err != nil && ctx.Err() == nil && limited.Err() != nil:
		return 0, 0, v.Lane.late(ctx)
	case errors.Is(err, chip.ErrSaturated):
		return 0, 0, fmt.Errorf("current monitor: %w: %w", hal.ErrNoReading, err)
	}
	return volts, amperes, err
}

// errOver: the voltage is above what its monitor can show.
var errOver = errors.New("over-voltage: the voltage monitor is at the end of its range")

// read converts once and scales. Clearly below zero is no reading: the wires are
// reversed, or the pin hangs in the air.
func (m Monitor) read(ctx context.Context) (float64, error) {
	pin, err := m.Input.Read(ctx)
	if err != nil {
		return 0, err
	}
	value := m.Scale.value(pin)
	if !(value >= -2*MostOffset*m.Scale.Means) {
		return 0, fmt.Errorf("%s: %w: %.4g is below zero by more than 2 %% of %.4g; are its wires reversed?", m.Input, hal.ErrNoReading, value, m.Scale.Means)
	}
	return value, nil
}

// overvoltage halts at once: how high the voltage is, nobody can say.
func (s *Supply) overvoltage(err error) error {
	s.tripped = errOver.Error()
	err = fmt.Errorf("%w: %w", hal.ErrTripped, err)
	if off := s.halt(); off != nil {
		return fmt.Errorf("%w; %w", err, off)
	}
	return err
}

// near is how close to a setpoint a reading counts as at it, of the full scale.
const near = 0.005

// mode infers what regulates.
func (s *Supply) mode(on bool, volts, amperes float64) hal.Mode {
	if !on {
		return hal.ModeOff
	}
	limit := float64(s.o.FixedAmperes)
	if s.amperes != nil {
		limit = s.amperes.held(s.amperes.pin)
	}
	atVolts := math.Abs(volts-s.volts.held(s.volts.pin)) <= near*s.o.Volts.Scale.Means
	atAmperes := math.Abs(amperes-limit) <= near*s.o.AmpereMonitor.Scale.Means
	switch {
	case atVolts && !atAmperes:
		return hal.ModeConstantVoltage
	case atAmperes && !atVolts:
		return hal.ModeConstantCurrent
	}
	return hal.ModeUnknown
}

// Check reads the converters and the enable line back.
func (s *Supply) Check(ctx context.Context) (hal.State, error) {
	if err := s.own(); err != nil {
		return hal.State{}, err
	}
	defer s.disown()
	state := hal.State{LimitAmperes: s.o.FixedAmperes}
	var err error
	if state.Output, err = s.energised(); err != nil {
		return hal.State{}, fmt.Errorf("check the supply: %w", err)
	}
	for _, in := range s.inputs() {
		held, err := s.checkInput(ctx, in)
		if err != nil {
			return hal.State{}, fmt.Errorf("check the supply: %w", err)
		}
		if in == s.volts {
			state.SetVolts = unit.Volts(held)
		} else {
			state.LimitAmperes = unit.Amperes(held)
		}
	}
	state.Restarted, state.Tripped, s.restarted = s.restarted, s.tripped, false
	return state, nil
}

// checkInput tells the setpoint of an input. A converter that holds zero where we
// left something else has restarted, and the setpoint is gone.
func (s *Supply) checkInput(ctx context.Context, in *input) (float64, error) {
	code, err := ask(ctx, in.Lane, func(context.Context) (int, error) { return in.Output.Read() })
	if errors.Is(err, chip.ErrWriteOnly) {
		return in.held(in.asked), nil
	}
	if err != nil {
		return 0, err
	}
	switch {
	case code == in.pin && !in.unsure:
		return in.held(in.asked), nil
	case code == 0 && in.pin != 0 && !in.unsure:
		s.restarted = true
		in.set, in.asked, in.pin = false, 0, 0
	}
	return in.held(code), nil
}
