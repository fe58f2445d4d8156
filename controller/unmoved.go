package controller

import (
	"fmt"
	"math"
	"sync/atomic"
	"time"

	"anodized/hal/unit"
)

// lidSeen is what the last tick knew of the lid, for those who ask from other goroutines.
type lidSeen struct {
	cycled      atomic.Bool
	opened, now atomic.Uint64 // bits of seconds of the Station's monotonic clock; opened is NaN before
}

func (s *Station) seeLid() {
	opened, _ := s.machine.LidMoments()
	s.lidSeen.cycled.Store(s.machine.LidCycled())
	s.lidSeen.opened.Store(math.Float64bits(float64(opened)))
	s.lidSeen.now.Store(math.Float64bits(float64(s.owner.input.Now)))
}

// first refuses a start that the lid should have come before.
func (l *lidSeen) first() error {
	if l.cycled.Load() {
		return nil
	}
	now := math.Float64frombits(l.now.Load())
	return fmt.Errorf("%w; %s", ErrLidFirst, unmoved(now, math.Float64frombits(l.opened.Load())))
}

// unmoved says for how long the lid has not been seen open: a switch that does not move may
// be stuck closed.
func unmoved(now, opened float64) string {
	if !(opened > 0) {
		return fmt.Sprintf("it was not seen open in the %s since this program began", stretch(now))
	}
	return fmt.Sprintf("it was last seen open %s ago", stretch(now-opened))
}

// stretch is a long time as people say it.
func stretch(s float64) string {
	d := seconds(unit.Seconds(s))
	switch {
	case d < 2*time.Minute:
		return fmt.Sprintf("%d s", int(d.Seconds()))
	case d < 2*time.Hour:
		return fmt.Sprintf("%d min", int(d.Minutes()))
	}
	return fmt.Sprintf("%d h %d min", int(d.Hours()), int(d.Minutes())%60)
}
