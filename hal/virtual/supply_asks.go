package virtual

import (
	"context"
	"fmt"
	"math"
	"strconv"
	"strings"

	"anodized/hal"
	"anodized/hal/unit"
)

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
