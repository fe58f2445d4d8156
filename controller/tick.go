package controller

import (
	"context"
	"time"

	"anodized/controller/process"
	"anodized/hal/unit"
)

// tick is one turn of the loop: read, decide, carry out, keep, show, and only then
// feed the watchdog.
func (s *Station) tick(ctx context.Context, at time.Time) {
	began := s.stopwatch()
	o := &s.owner
	o.clock(at, s.exchange.takeSpent())
	s.sense()
	s.measureLink()
	next := s.orders.take()
	s.take(next)
	cmd := s.machine.Tick(&o.input)
	s.seeLid()
	s.showTrip(cmd)
	s.carryOut(cmd, next.event == process.Stop || next.event == process.StopByEye)
	s.noticeLag(cmd)
	s.tell(cmd)
	s.keepRecord(ctx, cmd)
	s.watchRecord(cmd)
	s.watchClock(cmd)
	s.watchBath(cmd)
	o.took = began()
	o.lates.add(max(0, o.late))
	o.longs.add(unit.Seconds(o.took.Seconds()))
	s.publish(cmd)
	s.beat(cmd)
	s.seeFetched(cmd)
	s.showBeacon(cmd)
	o.last = cmd
	s.setAlarm()
	if s.options.Beat != nil && o.input.Interlock.OK {
		s.options.Beat()
	}
}

// stopwatch measures the owner's own time by this computer's clock. With a
// simulated clock it means nothing and is left out.
func (s *Station) stopwatch() func() time.Duration {
	if s.options.ClockWaits {
		return func() time.Duration { return 0 }
	}
	began := time.Now()
	return func() time.Duration { return time.Since(began) }
}
