package modbus

import (
	"context"
	"fmt"
	"slices"

	"anodized/hal"
	"anodized/hal/unit"
)

// SetVoltage sets the voltage and returns what the supply then holds. Zero asks for the
// least that the map allows, and raises nothing while the output may be on.
func (s *Supply) SetVoltage(ctx context.Context, v unit.Volts) (unit.Volts, error) {
	held, err := s.set(ctx, "voltage", "V", &s.at.SetpointVoltage, float64(v), float64(s.limits.HighestVolts), &s.volts, &s.voltsSet)
	return unit.Volts(held), err
}

// SetCurrent sets the current limit and returns what the supply then holds.
func (s *Supply) SetCurrent(ctx context.Context, a unit.Amperes) (unit.Amperes, error) {
	held, err := s.set(ctx, "current limit", "A", &s.at.SetpointCurrent, float64(a), float64(s.limits.HighestAmperes), &s.amperes, &s.amperesSet)
	return unit.Amperes(held), err
}

func (s *Supply) set(ctx context.Context, name, symbol string, q *Quantity, value, highest float64, last *[]uint16, done *bool) (float64, error) {
	least := q.floor()
	if !(value >= least && value <= highest) && value != 0 {
		return nan, fmt.Errorf("set the %s to %v %s: %w: %v to %v %s are allowed", name, value, symbol, hal.ErrRange, least, highest, symbol)
	}
	if err := s.own(); err != nil {
		return nan, err
	}
	defer s.disown()
	if err := s.settled(ctx); err != nil {
		return nan, fmt.Errorf("set the %s: %w", name, err)
	}
	left := []uint16(nil)
	switch {
	case s.mayBeOn && value == 0 && least > 0:
		held, err := s.registers(ctx, q)
		if err != nil {
			return nan, fmt.Errorf("bring the %s down: %w", name, err)
		}
		if is := tidy(q.number(held) * q.Scale); is < least {
			*last, *done = held, true
			return is, nil // its least would be up
		}
	case s.mayBeOn && *done && value > 0: // to zero without a word
		left = *last
		if err := s.untouched(ctx, q, left); err != nil {
			return nan, fmt.Errorf("set the %s: %w", name, err)
		}
	}
	raw := q.encode(max(value, least))
	*done = false
	if err := s.write(ctx, setpoint{q, raw, left}); err != nil {
		return nan, fmt.Errorf("set the %s to %v %s: %w", name, value, symbol, err)
	}
	*last, *done = raw, true
	return tidy(q.number(raw) * q.Scale), nil
}

// untouched looks whether the supply still holds what was left in it, before that is
// overwritten: a knob turned by hand is never fought, and would not be seen later.
func (s *Supply) untouched(ctx context.Context, q *Quantity, left []uint16) error {
	held, err := s.registers(ctx, q)
	if err != nil {
		return err
	}
	if !slices.Equal(held, left) {
		return fmt.Errorf("%w: register %d holds %v, and was left at %v", hal.ErrLocal, q.Address,
			tidy(q.number(held)*q.Scale), tidy(q.number(left)*q.Scale))
	}
	return nil
}

// registers reads the registers of a setpoint.
func (s *Supply) registers(ctx context.Context, q *Quantity) ([]uint16, error) {
	m, err := fetch(ctx, s.call, blocks(span{"", q.Table, q.Address, words(q.Type)}))
	if err != nil {
		return nil, fmt.Errorf("read it before it is overwritten: %w", err)
	}
	return m.quantity(q), nil
}

// setpoint is a quantity and the registers that it is to hold.
type setpoint struct {
	quantity *Quantity
	raw      []uint16
	left     []uint16 // what it was seen to hold just before, while the output may be on; else nil
}

// compare looks at what is held behind a write. What lies outside of the way from the old
// value to the new one was clamped, or turned by hand in between: that is told, not written
// over. What stopped on the way was held back by the supply itself.
func (p setpoint) compare(held []uint16) error {
	q := p.quantity
	switch {
	case slices.Equal(held, p.raw):
		return nil
	case p.left != nil && p.astray(held):
		return fmt.Errorf("%w: register %d holds %v right after %v was written over %v", hal.ErrStray, q.Address,
			tidy(q.number(held)*q.Scale), tidy(q.number(p.raw)*q.Scale), tidy(q.number(p.left)*q.Scale))
	}
	return fmt.Errorf("%w: register %d holds %04X, not %04X", hal.ErrMismatch, q.Address, held, p.raw)
}

func (p setpoint) astray(held []uint16) bool {
	left, wanted, is := p.quantity.number(p.left), p.quantity.number(p.raw), p.quantity.number(held)
	return !(is >= min(left, wanted) && is <= max(left, wanted))
}

// writes are the requests that set these: one where they touch, so that a supply never
// holds the new volts with the old amperes.
func writes(setpoints ...setpoint) (requests [][]byte) {
	if len(setpoints) == 2 && setpoints[0].quantity.Address > setpoints[1].quantity.Address {
		setpoints[0], setpoints[1] = setpoints[1], setpoints[0]
	}
	if len(setpoints) == 2 && setpoints[0].quantity.Address+len(setpoints[0].raw) == setpoints[1].quantity.Address {
		return [][]byte{writing(setpoints[0].quantity.Address, slices.Concat(setpoints[0].raw, setpoints[1].raw))}
	}
	for _, p := range setpoints {
		requests = append(requests, writing(p.quantity.Address, p.raw))
	}
	return requests
}

// write sets and reads back, and compares the registers as they are: the echo of a
// write proves the line, not the effect (V1.1b3, 7).
func (s *Supply) write(ctx context.Context, setpoints ...setpoint) error {
	for _, request := range writes(setpoints...) {
		if _, err := s.call(ctx, request); err != nil {
			return err
		}
	}
	var spans []span
	for _, p := range setpoints {
		spans = append(spans, span{"", p.quantity.Table, p.quantity.Address, len(p.raw)})
	}
	m, err := fetch(ctx, s.call, blocks(spans...))
	if err != nil {
		return fmt.Errorf("read back: %w", err)
	}
	for _, p := range setpoints {
		if err := p.compare(m.quantity(p.quantity)); err != nil {
			return err
		}
	}
	return nil
}
