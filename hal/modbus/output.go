package modbus

import (
	"context"
	"errors"
	"fmt"
	"time"

	"anodized/hal"
)

// busyPause is the least time that a busy device is left alone.
const busyPause = 20 * time.Millisecond

// command is the request that writes the output.
func (o *Output) command(raw int) []byte {
	if o.Table == "holding" {
		return writing(o.Address, []uint16{uint16(raw)})
	}
	if raw == 1 {
		return reading(writeCoil, o.Address, coilOn)
	}
	return reading(writeCoil, o.Address, 0)
}

// isOn is cautious: register or status may say on, and anything but the word for off
// is on.
func (s *Supply) isOn(m memory) bool {
	o := &s.at.Output
	return int(m.at(o.Table, o.Address, 1)[0]) != o.Halted || s.at.Status.energised(m)
}

// Energise switches the output on and confirms that it is. It refuses unless both
// setters have succeeded since the line last became clean. Where it fails after the
// command went out, the output is switched off again, blind if need be.
func (s *Supply) Energise(ctx context.Context) error {
	if err := s.own(); err != nil {
		return err
	}
	defer s.disown()
	if err := s.settled(ctx); err != nil {
		return err
	}
	if !s.voltsSet || !s.amperesSet {
		return fmt.Errorf("switch the output on: %w: voltage and current limit must both be set first, since the line became clean", hal.ErrRefused)
	}
	s.mayBeOn = true
	s.line.keep(s.unit)
	err := s.switchOn(ctx)
	if err == nil {
		s.energised = true
		return nil
	}
	err = fmt.Errorf("switch the output on: %w", err)
	if off := s.halt(ctx); off != nil {
		err = fmt.Errorf("%w; and it could not be switched off again: %w", err, off)
	}
	return err
}

func (s *Supply) switchOn(ctx context.Context) error {
	o := &s.at.Output
	if _, err := s.call(ctx, o.command(o.Energised)); err != nil {
		return err
	}
	waited, cancel := context.WithTimeout(ctx, max(s.limits.Settle, s.timeout))
	defer cancel()
	for {
		m, err := fetch(ctx, s.call, s.switches)
		if err != nil {
			return err
		}
		if trip := s.at.Status.trip(m); trip != "" {
			return fmt.Errorf("%w: %s", hal.ErrTripped, trip)
		}
		if raw := int(m.at(o.Table, o.Address, 1)[0]); raw != o.Energised {
			return fmt.Errorf("%w: its output register holds %d, not %d", hal.ErrMismatch, raw, o.Energised)
		}
		if s.at.Status == nil || s.at.Status.Energised < 0 || s.at.Status.energised(m) {
			return nil
		}
		if !s.shortly(waited) {
			return fmt.Errorf("%w: its status does not say that it is on", hal.ErrMismatch)
		}
	}
}

// shortly lets a moment pass, in which a status may follow its register; false where
// there is no time left.
func (s *Supply) shortly(ctx context.Context) bool {
	timer := time.NewTimer(max(s.line.gap, busyPause))
	defer timer.Stop()
	select {
	case <-timer.C:
		return true
	case <-ctx.Done():
		return false
	}
}

// Energised asks whether the output is on. An error means "assume on".
func (s *Supply) Energised(ctx context.Context) (bool, error) {
	if err := s.own(); err != nil {
		return true, err
	}
	defer s.disown()
	if err := s.settled(ctx); err != nil {
		return true, err
	}
	m, err := fetch(ctx, s.call, s.switches)
	if err != nil {
		return true, err
	}
	return s.isOn(m), nil
}

// Halt switches the output off. It can be called at any time and any number of times,
// does not look at whether ctx is cancelled, goes before every other exchange on the
// line, and returns nil only when the supply has confirmed that the output is off. On a
// line in doubt "off" goes out first and unanswered; its confirmation then waits for the
// silence of a serial line too.
func (s *Supply) Halt(ctx context.Context) error {
	if err := s.own(); err != nil {
		return err
	}
	defer s.disown()
	return s.halt(ctx)
}

func (s *Supply) halt(ctx context.Context) error {
	ctx, cancel := context.WithTimeout(context.WithoutCancel(ctx), s.haltTime())
	defer cancel()
	s.hurry = true
	defer func() { s.hurry = false }()
	err := s.haltTwice(ctx)
	if err != nil {
		return fmt.Errorf("switch the output off: %w", err)
	}
	s.gone = false
	s.halted()
	return nil
}

// haltTwice says "off" blind before each attempt on a line in doubt, and where another
// device is being switched off on it. An attempt that this one cut short was none.
func (s *Supply) haltTwice(ctx context.Context) error {
	blind := !s.clean || s.line.switching()
	for tries := 0; ; {
		if blind {
			s.haltBlind(ctx)
			s.starveBlind(ctx)
		}
		cuts := s.line.cuts.Load()
		err := s.haltOnce(ctx)
		if err == nil || errors.Is(err, hal.ErrGone) || errors.Is(err, errHeldOn) {
			return err
		}
		cut := s.line.cutSince(cuts, err)
		if blind = !cut && !s.clean; !cut {
			tries++
		}
		if tries == 2 {
			return err
		}
	}
}

// haltTime is that of two exchanges, and of finding the step where it was lost.
func (s *Supply) haltTime() time.Duration {
	exchange := time.Duration(1+len(s.switches)) * (s.timeout + s.line.gap)
	return 2*exchange + s.wait(doubt{outstanding: true}) + s.timeout
}

func (s *Supply) haltOnce(ctx context.Context) error {
	if !s.clean {
		if err := s.reach(ctx); err != nil {
			return err
		}
		s.clean = true
	}
	return s.off(ctx)
}

// errHeldOn is a supply that took "off" and whose status says "on" all the same: to say
// it once more at once would only keep its owner from the readings that raise the alarm.
var errHeldOn = fmt.Errorf("%w: its register says off, and its status that it is still on; press the emergency stop", hal.ErrMismatch)

// off writes and confirms. A status has as long to follow as when switching on.
func (s *Supply) off(ctx context.Context) error {
	if _, err := s.call(ctx, s.at.Output.command(s.at.Output.Halted)); err != nil {
		return err
	}
	waited, cancel := context.WithTimeout(ctx, max(s.limits.Settle, s.timeout))
	defer cancel()
	m, err := fetch(ctx, s.call, s.switches)
	for err == nil && s.isOn(m) {
		if int(m.at(s.at.Output.Table, s.at.Output.Address, 1)[0]) != s.at.Output.Halted {
			return fmt.Errorf("%w: the supply says it is still on; press the emergency stop", hal.ErrMismatch)
		}
		if !s.shortly(waited) {
			return errHeldOn
		}
		m, err = fetch(ctx, s.call, s.switches)
	}
	return err
}

// haltBlind sends "off" and waits for nothing.
func (s *Supply) haltBlind(ctx context.Context) {
	if s.stranger {
		return
	}
	if err := s.tell(ctx, s.at.Output.command(s.at.Output.Halted)); err != nil {
		s.log.Warn("switching off blind failed", "err", err)
		s.soil(err)
	}
	s.line.said(s.unit)
}

// starveBlind follows "off" with both setpoints at their least, for a supply that does
// not take the "off": that can only lower. On a serial line nothing follows a question
// before its answer, since both would be lost: there it waits for a line in step.
func (s *Supply) starveBlind(ctx context.Context) {
	if s.stranger || s.line.framing != TCP {
		return
	}
	for _, request := range writes(s.lower()...) {
		if err := s.tell(ctx, request); err != nil {
			s.log.Warn("setting the limits to their least blind failed", "err", err)
			return
		}
	}
	s.volts, s.amperes = nil, nil
}

// least are the setpoints as low as the map has them.
func (s *Supply) least() []setpoint {
	volts, amperes := &s.at.SetpointVoltage, &s.at.SetpointCurrent
	return []setpoint{{quantity: volts, raw: volts.encode(volts.floor())}, {quantity: amperes, raw: amperes.encode(amperes.floor())}}
}

// lower are those of them that raise nothing, whatever the supply holds by now: zero, and
// a least above zero where more was left on this very connection. A supply that is not
// known to hold more may hold less: one that restarted, or was turned down by hand.
func (s *Supply) lower() (safe []setpoint) {
	for n, p := range s.least() {
		left := [][]uint16{s.volts, s.amperes}[n]
		if zero(p.raw) || !s.gone && left != nil && p.quantity.number(left) > p.quantity.number(p.raw) {
			safe = append(safe, p)
		}
	}
	return safe
}
