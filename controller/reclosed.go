package controller

import (
	"fmt"
	"time"

	"anodized/controller/fault"
	"anodized/hal"
)

// reclosed is the opening of the lid that ended a run, as its switch tells of it once it is
// closed again. A contact that bounced for milliseconds is told by that from a person.
type reclosed struct {
	before [2]time.Duration // what was told of openings before this run's end
	over   bool             // it was seen closed again, and what opens it later is no part of this
	opened [2]time.Duration // 0 where it is not known
}

// see takes a reading of the lid switch, moved or not since the one before, and the trip as
// of the tick before.
func (r *reclosed) see(lid hal.Channels, moved bool, trip fault.Code) {
	switch {
	case r.over || lid.Closed != [2]bool{true, true}:
	case trip != fault.InterlockOpen:
		if !moved { // else this very tick will find out
			r.before = lid.Opened
		}
	default:
		r.over = true
		for i, opened := range lid.Opened {
			if opened != r.before[i] {
				r.opened[i] = opened
			}
		}
	}
}

// words tell it, "" where there is nothing to tell.
func (r *reclosed) words(trip fault.Code) string {
	first, second := r.opened[0], r.opened[1]
	switch {
	case trip != fault.InterlockOpen || first == 0 && second == 0:
		return ""
	case first == second:
		return "both channels closed again, open for " + lasting(first)
	case second == 0:
		return "channel 1 closed again, open for " + lasting(first)
	case first == 0:
		return "channel 2 closed again, open for " + lasting(second)
	}
	return fmt.Sprintf("both channels closed again, open for %s and %s", lasting(first), lasting(second))
}

// lasting is a duration to three digits, in milliseconds below a second.
func lasting(d time.Duration) string {
	if d < time.Second {
		return fmt.Sprintf("%.3g ms", float64(d)/float64(time.Millisecond))
	}
	return fmt.Sprintf("%.3g s", d.Seconds())
}
