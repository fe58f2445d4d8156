package process

import (
	"math"

	"anodized/controller/fault"
	"anodized/hal/unit"
)

// The times of the contactor.
const (
	closesWithin  unit.Seconds = 0.2 // from the first pulse to the mirror contact
	releaseWithin unit.Seconds = 0.5 // once the one-shot has ended: a coil with a bare diode takes a few tenths
	unloadWithin  unit.Seconds = 0.3 // after off, for the current to go: contacts that open without load last
	feedbackAge   unit.Seconds = 0.5
	defaultLapses unit.Seconds = 1 // of the one-shot
	lateShare                  = 0.7
)

// lapses is how long the one-shot holds the contactor after a pulse.
func (c *Config) lapses() unit.Seconds {
	if c.OneShot > 0 {
		return c.OneShot
	}
	return defaultLapses
}

// contactor follows whether the contactor is where the pulses send it.
type contactor struct {
	last   Contactor // the last one that was read
	fitted bool
	read   bool
	found  bool         // in this step
	want   bool         // pulses are asked for
	since  unit.Seconds // when that changed last
	pulled bool         // it was seen closed since

	opensWithin unit.Seconds    // from the last pulse: the one-shot, and the release
	pulse       unit.Seconds    // the tick that gave the last one
	steps       [2]unit.Seconds // the times of the last two steps
	cleared     unit.Seconds    // since when the one-shot is known to be cleared; NaN where it is not
}

func newContactor(cfg Config) contactor {
	return contactor{opensWithin: cfg.lapses() + releaseWithin, cleared: never}
}

func (c *contactor) see(in Contactor, now unit.Seconds) {
	c.fitted, c.found = in.Fitted, in.OK
	c.steps = [2]unit.Seconds{c.steps[1], now}
	switch {
	case !in.Cleared || c.want:
		c.cleared = never
	case math.IsNaN(float64(c.cleared)):
		c.cleared = now
	}
	if !in.OK {
		return
	}
	c.last, c.read = in, true
	if c.want && in.Closed && in.At > c.since {
		c.pulled = true
	}
}

// ask wants pulses or none.
func (c *contactor) ask(want bool, now unit.Seconds) {
	want = want && c.fitted
	if c.want != want {
		c.want, c.since, c.pulled, c.pulse = want, now, false, c.steps[0]
	}
}

func (c *contactor) fresh(now unit.Seconds) bool {
	return c.read && now-c.last.At <= feedbackAge+1e-9
}

// open tells whether a fresh reading, younger than the last pulse, shows it open.
func (c *contactor) open(now unit.Seconds) bool {
	return c.fresh(now) && c.last.At >= c.since && !c.last.Closed
}

// ready tells whether the output may go on behind it. It asks for the pulses.
func (c *contactor) ready(now unit.Seconds) bool {
	if !c.fitted {
		return true
	}
	c.ask(true, now)
	return c.pulled && c.fresh(now) && c.last.Closed
}

// released tells whether nothing hinders the end of a run: it is open, or there is none.
func (c *contactor) released(now unit.Seconds) bool {
	return !c.fitted || !c.want && c.open(now)
}

// welded tells whether it had its time to open and is not seen open: 1.5 s from the tick
// of the last pulse, which is the one-shot and the release. Where the one-shot was cleared
// only the release is left, and then it has to be seen closed: a mirror contact that is
// merely not read gets its time.
func (c *contactor) welded(now unit.Seconds) bool {
	if !c.fitted || c.want || c.open(now) {
		return false
	}
	hangs := c.fresh(now) && c.last.Closed && c.last.At-c.cleared >= releaseWithin-1e-9 // false while it is not a number
	return hangs || now-c.pulse >= c.opensWithin-1e-9
}

// guardContactor judges the mirror contact. A contactor that opens although it is
// pulsed was opened by the chain: by the emergency stop, unless the lid or our own
// lateness explains it.
func (m *Machine) guardContactor() fault.Code {
	c := &m.contactor
	switch {
	case !c.fitted:
		return ""
	case !c.want:
		if c.welded(m.now) && (c.fresh(m.now) || m.state != Checking) {
			return fault.ContactorStuck
		}
		return ""
	case !m.lid.closed(m.now):
		return "" // the lid is the cause, and is told as such
	case c.pulled && c.fresh(m.now) && !c.last.Closed && m.controlWasLate():
		return fault.ControlAbsent
	case c.pulled && c.fresh(m.now) && !c.last.Closed:
		return fault.EmergencyStop
	case c.pulled && c.found && !c.fresh(m.now):
		return fault.ControlAbsent // as of a lid: away between reading and deciding
	case c.pulled && !c.fresh(m.now), !c.pulled && m.now-c.since >= closesWithin-1e-9:
		return fault.ContactorStuck
	}
	return ""
}

// controlWasLate tells whether the one-shot may have lapsed by itself: it is fed by
// every second toggle.
func (m *Machine) controlWasLate() bool {
	return m.dt+m.dtBefore > lateShare*m.cfg.lapses()
}

// unload lets the contactor go once the current behind it has gone, and waits for
// nothing where somebody is about to reach in.
func (m *Machine) unload(waited unit.Seconds) {
	gone := m.reading.At > m.entered && math.Abs(float64(m.reading.Amperes)) < 2*float64(m.cfg.AmpereStep)
	if gone || waited >= unloadWithin-1e-9 || m.pressed() || !m.lid.closed(m.now) {
		m.contactor.ask(false, m.now)
	}
}

// pressed tells whether the emergency stop is pressed, or its contacts cannot be
// believed.
func (m *Machine) pressed() bool {
	return m.stopFitted && (!m.stopped.closed(m.now) || m.stopped.disagrees)
}
