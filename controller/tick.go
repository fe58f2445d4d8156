package controller

import (
	"context"
	"time"

	"anodized/controller/process"
)

// tick is one turn of the loop: read, decide, carry out, keep, show, and only then
// feed the watchdog.
func (s *Station) tick(ctx context.Context, at time.Time) {
	began := time.Now()
	o := &s.owner
	o.clock(at, s.options.Tick)
	s.sense()
	next := s.orders.take()
	s.take(next)
	cmd := s.machine.Tick(&o.input)
	s.carryOut(cmd, next.event == process.Stop || next.event == process.StopByEye)
	s.tell(cmd)
	s.keepRecord(ctx, cmd)
	o.took = time.Since(began)
	s.publish(cmd)
	s.beat(cmd)
	o.last = cmd
}
