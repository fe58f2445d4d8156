package controller

import (
	"errors"

	"anodized/controller/process"
	"anodized/hal"
)

// hostTimer is what is known of the supply's own lost-host timer.
type hostTimer uint8

const (
	timerUnknown hostTimer = iota // an earlier process may have armed it
	timerArmed
	timerOff
)

// arm has the supply's own lost-host timer armed and read back for a load: what ends the
// output where this computer dies. It is tried in each tick of checking until the supply
// confirms it, and without that no load is energised.
func (s *Station) arm(cmd process.Command) {
	o := &s.owner
	if s.lostHost == nil || o.timer == timerArmed || cmd.State != process.Checking || o.load == nil {
		return
	}
	ctx := s.exchange.begin(4)
	_, err := s.lostHost.ArmLostHost(ctx)
	s.exchange.end()
	o.timerError = err
	switch {
	case err == nil:
		o.timer = timerArmed
	case !ofTimer(err):
		s.supplyFailed(&o.link, err)
	}
}

// ofTimer tells an answer about the timer from a link or a supply that fails.
func ofTimer(err error) bool {
	return errors.Is(err, hal.ErrMismatch) || errors.Is(err, hal.ErrRefused) || errors.Is(err, hal.ErrRange)
}

// disarm takes the timer away where nobody needs it any more: no load, the output confirmed
// to be off, the cell dead. Else it would trip a supply that is left alone with it.
func (s *Station) disarm(cmd process.Command) {
	o := &s.owner
	if s.lostHost == nil || o.timer == timerOff || cmd.On || cmd.State != process.Idle && !cmd.State.Ended() || o.output != process.OutputOff {
		return
	}
	if dead, _ := s.machine.SafeToOpen(); !dead {
		return
	}
	ctx := s.exchange.begin(2)
	err := s.lostHost.DisarmLostHost(ctx)
	s.exchange.end()
	switch {
	case err == nil:
		o.timer = timerOff
	case !ofTimer(err):
		s.supplyFailed(&o.link, err)
	default:
		o.timer = timerOff
		s.log.Error("the supply's lost-host timer could not be disarmed: it may trip once nothing talks to the supply", "error", err)
	}
}

// unarmed tells whether a lost-host timer is to be armed and is not.
func (s *Station) unarmed() bool { return s.lostHost != nil && s.owner.timer != timerArmed }

// unarmedWords say why.
func (s *Station) unarmedWords() string {
	if s.owner.timerError == nil {
		return "the supply was not asked for its lost-host timer yet"
	}
	return s.owner.timerError.Error()
}
