package scpi

import (
	"context"
	"errors"
	"fmt"
	"math"
	"strconv"

	"anodized/hal"
	"anodized/hal/unit"
)

// grace is the part of a step by which a value may miss it and still count as it:
// 1.15 / 0.01 is 114.99999999999999 in binary.
const grace = 1e-6

// roundDown returns the value in steps of the given decimals, never above it by
// more than the grace.
func roundDown(value float64, decimals int) float64 {
	scale := math.Pow10(decimals)
	return math.Floor(value*scale+grace) / scale
}

// SetVoltage sets the voltage and returns what the supply then holds.
func (s *Supply) SetVoltage(ctx context.Context, v unit.Volts) (unit.Volts, error) {
	held, err := s.set(ctx, setting{
		name: "voltage", unit: "V", header: "VOLT", decimals: s.dialect.DecimalsV,
		value: float64(v), highest: float64(s.limits.HighestVolts),
		confirm: s.confirmVolts, lean: s.leanVolts, ask: s.askVolts,
		held: &s.answers.setVolts, left: &s.heldVolts, done: &s.voltsSet,
	})
	return unit.Volts(held), err
}

// SetCurrent sets the current limit and returns what the supply then holds.
func (s *Supply) SetCurrent(ctx context.Context, a unit.Amperes) (unit.Amperes, error) {
	held, err := s.set(ctx, setting{
		name: "current limit", unit: "A", header: "CURR", decimals: s.dialect.DecimalsA,
		value: float64(a), highest: float64(s.limits.HighestAmperes),
		confirm: s.confirmAmperes, lean: s.leanAmperes, ask: s.askAmperes,
		held: &s.answers.setAmperes, left: &s.heldAmperes, done: &s.amperesSet,
	})
	return unit.Amperes(held), err
}

// setting is one thing to set, and where its read-back is found.
type setting struct {
	name, unit, header string
	decimals           int
	value, highest     float64
	confirm            *question // after it, with the error queue
	lean               *question // after it, while the output may be on
	ask                *question // before it, while the output may be on
	held               *float64  // as answered
	left               *float64  // as held after the last setting of ours
	done               *bool     // set once the supply holds a value of ours
}

func (s *Supply) set(ctx context.Context, p setting) (float64, error) {
	if !(p.value >= 0 && p.value <= p.highest) {
		return nan, fmt.Errorf("set the %s to %v %s: %w: 0 to %v %s are allowed", p.name, p.value, p.unit, hal.ErrRange, p.highest, p.unit)
	}
	if err := s.own(); err != nil {
		return nan, err
	}
	defer s.disown()
	if err := s.ready(ctx); err != nil {
		return nan, fmt.Errorf("set the %s: %w", p.name, err)
	}
	if s.mayBeOn && *p.done && p.value > 0 { // to zero without a word
		if err := s.untouched(ctx, p); err != nil {
			return nan, fmt.Errorf("set the %s: %w", p.name, err)
		}
	}
	return s.setAndCompare(ctx, p)
}

// untouched looks whether the supply still holds what was left in it, before that is
// overwritten: a knob turned by hand is never fought, and would not be seen later.
func (s *Supply) untouched(ctx context.Context, p setting) error {
	if err := s.exchange(ctx, nil, p.ask); err != nil {
		return err
	}
	if math.Abs(*p.held-*p.left) < step(p.decimals)/2 {
		return nil
	}
	return fmt.Errorf("%w: the supply holds %v %s, and was left at %v %s", hal.ErrLocal, *p.held, p.unit, *p.left, p.unit)
}

// setAndCompare tries a second time where the read-back differs by more than a step:
// some instruments round once more when they answer.
func (s *Supply) setAndCompare(ctx context.Context, p setting) (float64, error) {
	rounded := roundDown(p.value, p.decimals)
	command := strconv.AppendFloat(append([]byte(p.header), ' '), rounded, 'f', p.decimals, 64)
	known := s.mayBeOn && *p.done && p.value > 0
	*p.done = false
	for range 2 {
		if err := s.setOnce(ctx, command, p); err != nil {
			return nan, fmt.Errorf("%s: %w", command, err)
		}
		if known && p.astray(rounded) {
			return nan, fmt.Errorf("%s: %w: the supply holds %v %s right after it, and was left at %v %s", command, hal.ErrStray, *p.held, p.unit, *p.left, p.unit)
		}
		if math.Abs(*p.held-rounded) <= step(p.decimals)*(1+grace) {
			*p.done, *p.left = true, *p.held
			return *p.held, nil
		}
	}
	return nan, fmt.Errorf("%s: %w: the supply holds %v %s", command, hal.ErrMismatch, *p.held, p.unit)
}

// astray tells whether the supply holds, behind a setting, something outside of the way
// from the value that it was left with to the new one: it clamps, or a knob was turned in
// between, which is not fought. What stopped on the way was held back by the supply itself.
func (p setting) astray(rounded float64) bool {
	most := step(p.decimals) * (1 + grace)
	return *p.held > max(rounded, *p.left)+most || *p.held < min(rounded, *p.left)-most
}

// setOnce sets and reads back. While the output may be on time is short on a slow line:
// there the error queue is read only where the read-back does not show the new value,
// and else by Check.
func (s *Supply) setOnce(ctx context.Context, command []byte, p setting) error {
	if !s.mayBeOn || s.errors == nil {
		if err := s.exchange(ctx, command, p.confirm); err != nil {
			return err
		}
		return s.refusal(ctx)
	}
	if err := s.exchange(ctx, command, p.lean); err != nil {
		return err
	}
	if math.Abs(*p.held-roundDown(p.value, p.decimals)) <= step(p.decimals)*(1+grace) {
		return nil
	}
	if err := s.exchange(ctx, nil, s.errors); err != nil {
		return err
	}
	return s.refusal(ctx)
}

// refusal turns what the last question brought of errors into an error, and empties
// the queue behind it.
func (s *Supply) refusal(ctx context.Context) error {
	switch {
	case s.dialect.Errors == "queue" && s.answers.err.Number != 0:
		first := s.answers.err
		rest, err := s.drainErrors(ctx)
		refused := error(first)
		for _, entry := range rest {
			refused = fmt.Errorf("%w; %w", refused, entry)
		}
		return errors.Join(refused, err)
	case s.dialect.Errors == "esr":
		s.noteRestart()
		return eventError(s.answers.events)
	}
	return nil
}

// eventError names the error bits of the event register.
func eventError(events int) error {
	if events&eventErrors == 0 {
		return nil
	}
	return fmt.Errorf("%w: %s", hal.ErrRefused, eventWords(events))
}

func eventWords(events int) string {
	words := ""
	for _, bit := range []struct {
		mask int
		word string
	}{{eventCommandError, "command error"}, {eventExecutionError, "execution error"}, {eventDeviceError, "device error"}, {eventQueryError, "query error"}} {
		if events&bit.mask != 0 {
			words += ", " + bit.word
		}
	}
	return fmt.Sprintf("event register %d%s", events, words)
}
