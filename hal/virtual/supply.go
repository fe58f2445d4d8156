package virtual

import (
	"context"
	"fmt"
	"math"
	"strconv"
	"strings"
	"time"

	"anodized/hal"
	"anodized/hal/unit"
)

// supply is the bench's supply as a device in memory. Calls take no simulated time.
type supply struct {
	bench            *Bench
	haveVolts, haveA bool // both limits were set since the link became clean
}

// Supply is the supply of the bench. It also has hal.Protector.
func (b *Bench) Supply() hal.Supply { return &b.supply }

const exchangeTakes = 5 * time.Millisecond

func (s *supply) Limits() hal.Limits {
	setup := &s.bench.setup
	out := &setup.Parameters.Output
	return hal.Limits{HighestVolts: setup.HighestVolts, HighestAmperes: setup.HighestAmperes,
		VoltStep: unit.Volts(out.VoltStep), AmpereStep: unit.Amperes(out.AmpereStep),
		Settle:   time.Duration(setup.Parameters.Meter.Settle * float64(time.Second)),
		Exchange: exchangeTakes, MainsReturn: "halted"}
}

// exchange is one question and answer; heard tells whether the supply got it.
func (s *supply) exchange(ctx context.Context, doing string) (heard bool, err error) {
	if err := ctx.Err(); err != nil {
		s.spoil()
		return false, fmt.Errorf("%s: %w", doing, err)
	}
	heard, cause := s.bench.link.carries()
	if cause != nil {
		s.spoil()
		return heard, fmt.Errorf("%s: %w", doing, cause)
	}
	return true, nil
}

func (s *supply) spoil() { s.haveVolts, s.haveA = false, false }

func (l *link) carries() (heard bool, cause error) {
	switch {
	case l.gone:
		return false, fmt.Errorf("%w: check its cable and its power", hal.ErrGone)
	case l.silent, l.late > 0:
		return true, hal.ErrTimeout
	case l.garbage:
		return true, hal.ErrDesync
	}
	return true, nil
}

func (s *supply) SetVoltage(ctx context.Context, v unit.Volts) (unit.Volts, error) {
	b := s.bench
	b.mu.Lock()
	defer b.mu.Unlock()
	wanted, err := roundDown(float64(v), float64(b.setup.HighestVolts), b.setup.Parameters.Output.VoltStep)
	if err != nil {
		return unit.Volts(math.NaN()), fmt.Errorf("setting %v V: %w: allowed are 0 to %v V", float64(v), err, float64(b.setup.HighestVolts))
	}
	heard, err := s.exchange(ctx, "setting the voltage")
	if heard {
		b.setVolts(wanted)
	}
	if err != nil {
		return unit.Volts(math.NaN()), err
	}
	if b.registers.set != wanted {
		return unit.Volts(b.registers.set), fmt.Errorf("setting %v V: %w: the supply holds %v V", wanted, hal.ErrMismatch, b.registers.set)
	}
	s.haveVolts = true
	return unit.Volts(wanted), nil
}

func (s *supply) SetCurrent(ctx context.Context, a unit.Amperes) (unit.Amperes, error) {
	b := s.bench
	b.mu.Lock()
	defer b.mu.Unlock()
	wanted, err := roundDown(float64(a), float64(b.setup.HighestAmperes), b.setup.Parameters.Output.AmpereStep)
	if err != nil {
		return unit.Amperes(math.NaN()), fmt.Errorf("setting %v A: %w: allowed are 0 to %v A", float64(a), err, float64(b.setup.HighestAmperes))
	}
	heard, err := s.exchange(ctx, "setting the current limit")
	if heard {
		b.setLimit(wanted)
	}
	if err != nil {
		return unit.Amperes(math.NaN()), err
	}
	if b.registers.limit != wanted {
		return unit.Amperes(b.registers.limit), fmt.Errorf("setting %v A: %w: the supply holds %v A", wanted, hal.ErrMismatch, b.registers.limit)
	}
	s.haveA = true
	return unit.Amperes(wanted), nil
}

// roundDown rounds to the step below, with a millionth of grace.
func roundDown(value, highest, step float64) (float64, error) {
	if !(value >= 0 && value <= highest) {
		return math.NaN(), hal.ErrRange
	}
	if step <= 0 {
		return value, nil
	}
	n := math.Floor(value/step + 1e-6)
	if inverse := math.Round(1 / step); inverse >= 1 && math.Abs(inverse*step-1) < 1e-9 {
		return n / inverse, nil
	}
	return n * step, nil
}

func (s *supply) Energise(ctx context.Context) error {
	b := s.bench
	b.mu.Lock()
	defer b.mu.Unlock()
	if !s.haveVolts || !s.haveA {
		return fmt.Errorf("switching the output on: %w: set voltage and current first", hal.ErrRefused)
	}
	heard, err := s.exchange(ctx, "switching the output on")
	if heard {
		b.switchOutput(true)
	}
	if err != nil {
		return err
	}
	if b.registers.tripped != "" {
		return fmt.Errorf("switching the output on: %w: %s", hal.ErrTripped, b.registers.tripped)
	}
	return nil
}

func (s *supply) Energised(ctx context.Context) (bool, error) {
	b := s.bench
	b.mu.Lock()
	defer b.mu.Unlock()
	if _, err := s.exchange(ctx, "asking whether the output is on"); err != nil {
		return true, err
	}
	return b.registers.output, nil
}

func (s *supply) Halt(context.Context) error {
	b := s.bench
	b.mu.Lock()
	defer b.mu.Unlock()
	heard, err := s.exchange(context.Background(), "switching the output off")
	if heard {
		b.switchOutput(false)
	}
	return err
}

func (s *supply) Measure(ctx context.Context) (hal.Sample, error) {
	b := s.bench
	b.mu.Lock()
	defer b.mu.Unlock()
	none := hal.Sample{Volts: unit.Volts(math.NaN()), Amperes: unit.Amperes(math.NaN())}
	if _, err := s.exchange(ctx, "measuring"); err != nil {
		return none, err
	}
	if b.link.noReading {
		return none, fmt.Errorf("measuring: %w: the supply answered not-a-number", hal.ErrNoReading)
	}
	r := b.reading()
	return hal.Sample{Volts: unit.Volts(r.Volts), Amperes: unit.Amperes(r.Amperes), Mode: b.mode(), At: b.time()}, nil
}

func (s *supply) Check(ctx context.Context) (hal.State, error) {
	b := s.bench
	b.mu.Lock()
	defer b.mu.Unlock()
	if _, err := s.exchange(ctx, "asking what the supply holds"); err != nil {
		nan := math.NaN()
		return hal.State{SetVolts: unit.Volts(nan), LimitAmperes: unit.Amperes(nan), Output: true}, err
	}
	r := &b.registers
	state := hal.State{SetVolts: unit.Volts(r.set), LimitAmperes: unit.Amperes(r.limit), Output: r.output,
		Restarted: r.restarted, Tripped: r.tripped}
	for _, code := range r.errors {
		state.Errors = append(state.Errors, strconv.Itoa(code)+` "simulated"`)
	}
	r.restarted, r.errors = false, nil
	return state, nil
}

func (s *supply) Identify(ctx context.Context) (hal.Identity, error) {
	b := s.bench
	b.mu.Lock()
	defer b.mu.Unlock()
	if _, err := s.exchange(ctx, "asking for the identity"); err != nil {
		return hal.Identity{}, err
	}
	return b.identity(), nil
}

func (b *Bench) identity() hal.Identity {
	// A comma would part the fields of *IDN? in the wrong place.
	firmware := strings.NewReplacer(",", " ", ";", " ", "\n", " ").Replace(b.setup.Version)
	return hal.Identity{Maker: "ANODIZED", Model: "SIMULATED BENCH", Serial: strconv.FormatUint(b.setup.Seed, 10), Firmware: firmware}
}

// SetOvervoltage sets the supply's own over-voltage trip.
func (s *supply) SetOvervoltage(ctx context.Context, v unit.Volts) (unit.Volts, error) {
	b := s.bench
	b.mu.Lock()
	defer b.mu.Unlock()
	most := safetyMargin * float64(b.setup.HighestVolts)
	if !(v > 0 && float64(v) <= most) {
		return unit.Volts(math.NaN()), fmt.Errorf("setting the over-voltage trip to %v V: %w: allowed are above 0 to %v V", float64(v), hal.ErrRange, most)
	}
	heard, err := s.exchange(ctx, "setting the over-voltage trip")
	if heard && !b.registers.deaf {
		b.registers.protection = float64(v)
	}
	if err != nil {
		return unit.Volts(math.NaN()), err
	}
	return unit.Volts(b.registers.protection), nil
}
