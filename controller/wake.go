package controller

import "time"

// alarm is a tick at the moment at which a reading becomes too old, wherever the grid of
// the ticks stands: else off would come up to a whole tick later.
type alarm struct{ timer *time.Timer }

// setAlarm wakes the owner when an energised run has waited long enough: at once where that
// came behind this tick's decision. It is set anew in each tick, so it goes off only where no
// reading came, and not again for a moment that was decided on.
func (s *Station) setAlarm() {
	o := &s.owner
	pacer, can := s.pacer.(Hastener)
	until := s.giveUp()
	switch timer := o.alarm.timer; {
	case until.IsZero() || !can || !o.epoch.Add(seconds(o.input.Now)).Before(until):
		o.alarm.stop()
	case timer == nil:
		o.alarm.timer = time.AfterFunc(time.Until(until), pacer.Hasten)
	default:
		timer.Reset(time.Until(until))
	}
}

func (a *alarm) stop() {
	if a.timer != nil {
		a.timer.Stop()
	}
}
