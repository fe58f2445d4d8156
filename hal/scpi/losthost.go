package scpi

import (
	"context"
	"errors"
	"fmt"
	"math"
	"strconv"
	"time"

	"anodized/hal"
)

// The lost-host timer may fire after so long: one second is what a run itself takes for
// silence, and the least that such timers are seen to take.
const (
	ShortestLostHost = 1 * time.Second
	LongestLostHost  = 3 * time.Second
)

// lostHost is the ability of a supply whose dialect has a lost-host timer. It satisfies
// hal.LostHostTimer.
type lostHost struct{ supply *Supply }

// hasLostHost tells whether the dialect has a lost-host timer.
func (d Dialect) hasLostHost() bool { return d.LostHostSwitch != "" }

func (d Dialect) checkLostHost() error {
	switch {
	case (d.LostHostSwitch == "") != (d.LostHostDelay == ""):
		return errors.New("dialect keys lost_host_switch and lost_host_delay: both headers are needed, or neither")
	case !d.hasLostHost() && d.LostHostAfter != 0:
		return fmt.Errorf("dialect key lost_host_after is %v: it needs lost_host_switch and lost_host_delay", d.LostHostAfter)
	case d.hasLostHost() && (d.LostHostAfter < ShortestLostHost || d.LostHostAfter > LongestLostHost):
		return fmt.Errorf("dialect key lost_host_after is %v: it must be %v to %v", d.LostHostAfter, ShortestLostHost, LongestLostHost)
	}
	return nil
}

// exploreLostHost asks once what will be read back. A supply that does not answer is opened
// all the same: it is refused where it is to be armed.
func (s *Supply) exploreLostHost(ctx context.Context) error {
	if !s.dialect.hasLostHost() {
		return nil
	}
	for _, it := range []item{itemLostHostDelay, itemLostHostSwitch} {
		ok, err := s.has(ctx, it)
		if err != nil {
			return err
		}
		if !ok {
			s.log.Warn("the supply does not answer for the lost-host timer of its dialect: no load will start", "query", s.header(it))
			s.noLostHost = s.header(it)
		}
	}
	return nil
}

// ArmLostHost sets the delay, switches the timer on, and has both confirmed.
func (l lostHost) ArmLostHost(ctx context.Context) (time.Duration, error) {
	s := l.supply
	after := s.dialect.LostHostAfter
	command := strconv.AppendFloat([]byte(s.dialect.LostHostDelay+" "), after.Seconds(), 'f', -1, 64)
	err := l.say(ctx, "arm", func() error {
		if err := s.setLostHost(ctx, command, itemLostHostDelay); err != nil {
			return err
		}
		if held := s.answers.lostHostDelay; math.Abs(held-after.Seconds()) > 0.05 {
			return fmt.Errorf("%s: %w: the supply holds %v s", command, hal.ErrMismatch, held)
		}
		return s.switchLostHost(ctx, true)
	})
	if err != nil {
		return 0, err
	}
	return after, nil
}

// DisarmLostHost switches the timer off, behind an output that is confirmed to be off.
func (l lostHost) DisarmLostHost(ctx context.Context) error {
	return l.say(ctx, "disarm", func() error {
		if l.supply.mayBeOn {
			return fmt.Errorf("%w: the output may be on, and the timer ends it where this computer does not", hal.ErrRefused)
		}
		return l.supply.switchLostHost(ctx, false)
	})
}

func (l lostHost) say(ctx context.Context, what string, do func() error) error {
	s := l.supply
	if err := s.own(); err != nil {
		return err
	}
	defer s.disown()
	if s.noLostHost != "" {
		return fmt.Errorf("%s the lost-host timer: %w: the supply does not answer %s; correct the dialect keys lost_host_switch and lost_host_delay", what, hal.ErrRefused, s.noLostHost)
	}
	err := s.ready(ctx)
	if err == nil {
		err = do()
	}
	if err != nil {
		return fmt.Errorf("%s the lost-host timer: %w", what, err)
	}
	return nil
}

func (s *Supply) switchLostHost(ctx context.Context, on bool) error {
	command := []byte(s.dialect.LostHostSwitch + " OFF")
	if on {
		command = []byte(s.dialect.LostHostSwitch + " ON")
	}
	if err := s.setLostHost(ctx, command, itemLostHostSwitch); err != nil {
		return err
	}
	if s.answers.lostHostSwitch != on {
		return fmt.Errorf("%s: %w: the supply says %t", command, hal.ErrMismatch, s.answers.lostHostSwitch)
	}
	return nil
}

func (s *Supply) setLostHost(ctx context.Context, command []byte, readBack item) error {
	err := s.exchange(ctx, command, s.confirming(readBack))
	if err == nil {
		err = s.refusal(ctx)
	}
	if err != nil {
		return fmt.Errorf("%s: %w", command, err)
	}
	return nil
}
