package process

import (
	"math"

	"anodized/hal/unit"
)

// The times of the lid switch.
const (
	interlockAge  unit.Seconds = 0.5 // an older reading counts as open
	closingSteady unit.Seconds = 0.5 // closed for so long before a start
	discrepancy   unit.Seconds = 0.5 // the channels may differ for so long
	lidWait       unit.Seconds = 180 // from a start to the lid, and from the lid to a start
)

// lid follows the two channels of the lid switch: whether it is closed now, and
// whether it was opened and closed since the last load went in. A rack cannot be
// changed through a closed lid, so a switch stuck closed cannot start anything.
type lid struct {
	last        Interlock
	read        bool
	moved       bool         // since the reading before
	answered    bool         // in this step
	opened      bool         // both seen open since the last load
	openedAt    unit.Seconds // both seen open last; NaN before
	closedSince unit.Seconds // NaN while not closed
	differSince unit.Seconds // NaN while the channels agree
	disagrees   bool         // latched until both were seen open, then both closed
	bothOpen    bool
}

var never = unit.Seconds(math.NaN())

func newLid() lid { return lid{openedAt: never, closedSince: never, differSince: never} }

func (l *lid) see(in Interlock, now unit.Seconds) {
	l.moved, l.answered = in.Moved, in.OK
	if in.OK {
		l.last, l.read = in, true
	}
	switch {
	case !l.fresh(now) || l.last.Closed != [2]bool{true, true}:
		l.closedSince = never
	case l.moved || math.IsNaN(float64(l.closedSince)):
		l.closedSince = now
	}
	if in.OK {
		l.compare(in.Closed, now)
	}
}

// compare judges a fresh reading of both channels.
func (l *lid) compare(closed [2]bool, now unit.Seconds) {
	switch {
	case !closed[0] && !closed[1]:
		l.opened, l.openedAt, l.bothOpen = true, now, true
		l.differSince = never
	case closed[0] && closed[1]:
		if l.bothOpen {
			l.disagrees = false
		}
		l.differSince = never
	case math.IsNaN(float64(l.differSince)):
		l.differSince = now
	case now-l.differSince > discrepancy:
		l.disagrees, l.bothOpen = true, false
	}
}

// fresh tells whether the last reading is young enough to believe.
func (l *lid) fresh(now unit.Seconds) bool {
	return l.read && now-l.last.At <= interlockAge+1e-9
}

// closed needs a fresh reading that shows both channels closed, and neither moved
// since the one before.
func (l *lid) closed(now unit.Seconds) bool {
	return l.fresh(now) && !l.moved && l.last.Closed[0] && l.last.Closed[1]
}

// overtaken tells whether this step's own reading shows it closed, and is too old all
// the same: then it is the control that was away between reading and deciding.
func (l *lid) overtaken(now unit.Seconds) bool {
	return l.answered && !l.fresh(now) && !l.moved && l.last.Closed == [2]bool{true, true}
}

// cycled tells whether the lid was opened and closed since the last load, and has
// stood closed, not longer ago than a person stays at the bench. That counts from the
// opening: a module that was silent, or one contact that bounced, proves no switch.
func (l *lid) cycled(now unit.Seconds) bool {
	return l.opened && now-l.closedSince >= closingSteady-1e-9 && now-l.openedAt <= lidWait
}

// load forgets the last opening: the rack that is in now is the one being run.
func (l *lid) load() { l.opened = false }
