package proof

import (
	"fmt"
	"math"

	"anodized/hal/unit"
)

// discrepancy is how long two contacts of one switch may differ.
const discrepancy unit.Seconds = 0.5

// Watcher follows the contacts of a switch and notes what it saw. The zero value has seen
// nothing.
type Watcher struct {
	opened  [2]bool
	both    bool
	after   bool // both closed after both were open
	now     [2]bool
	reads   int
	failed  int
	differs bool
	since   unit.Seconds
	longest unit.Seconds
}

// See takes one reading.
func (w *Watcher) See(closed [2]bool, at unit.Seconds) {
	w.reads++
	w.now = closed
	for i, c := range closed {
		w.opened[i] = w.opened[i] || !c
	}
	w.both = w.both || !closed[0] && !closed[1]
	w.after = w.both && closed[0] && closed[1]
	switch {
	case closed[0] == closed[1]:
		w.differs = false
	case !w.differs:
		w.differs, w.since = true, at
	}
	if w.differs {
		w.longest = max(w.longest, at-w.since)
	}
}

// Fail counts a reading that did not come.
func (w *Watcher) Fail() { w.failed++ }

// Open tells whether both contacts were seen open.
func (w *Watcher) Open() bool { return w.both }

// Done tells whether both were seen open and are closed again.
func (w *Watcher) Done() bool { return w.after }

// Closed tells whether both are closed now.
func (w *Watcher) Closed() bool { return w.now == [2]bool{true, true} }

// Judge says what was proven. What is the switch: "lid switch"; moved how: "lift the lid
// and close it".
func (w *Watcher) Judge(what, move string, asked bool) Opening {
	o := Opening{Opened: w.opened, BothOpen: w.both, Closed: w.after, DiscrepancyMS: Number(1000 * w.longest), Failed: w.failed, Asked: asked}
	o.Why = w.fault(what, move)
	o.OK = o.Why == ""
	return o
}

func (w *Watcher) fault(what, move string) string {
	switch {
	case w.reads == 0:
		return fmt.Sprintf("the %s could not be read", what)
	case w.opened[0] != w.opened[1]:
		stuck := 1
		if w.opened[0] {
			stuck = 2
		}
		return fmt.Sprintf("channel %d was never seen open: its contact sticks or is bridged", stuck)
	case w.longest > discrepancy:
		return fmt.Sprintf("its two contacts differed for %.1f s, at most %.1f s are allowed: one contact sticks, or its wire is loose", float64(w.longest), float64(discrepancy))
	case !w.opened[0]:
		return "neither contact was seen open: " + move + ", or the switch is stuck closed"
	case !w.both:
		return "the two contacts were never seen open together"
	case !w.after:
		return "it was not seen closed again"
	}
	return ""
}

// JudgeContactor judges the times of the mirror contact, in seconds; NaN is never seen.
func JudgeContactor(closes, drop, lapse, oneShot, resolution unit.Seconds) Contactor {
	bound := oneShot + lapseMargin
	c := Contactor{ClosesMS: ms(closes), DropMS: ms(drop), LapseMS: ms(lapse), BoundMS: ms(bound), Resolution: ms(resolution), Tried: true}
	switch {
	case math.IsNaN(float64(closes)):
		c.Why = "the mirror contact was not seen closed behind the pulses: coil, one-shot, drop line, lid and stop in series"
	case math.IsNaN(float64(drop)):
		c.Why = "the mirror contact was not seen open after the drop: welded, or the drop line is not wired"
	case drop > dropWithin+resolution:
		c.Why = fmt.Sprintf("it took %.0f ms to open after the drop, at most %.0f ms are allowed: a diode across the coil slows it", float64(ms(drop)), float64(ms(dropWithin)))
	case math.IsNaN(float64(lapse)):
		c.Why = "it stayed closed without pulses: the one-shot holds it for ever, so this computer's death would not open it"
	case lapse > bound+resolution:
		c.Why = fmt.Sprintf("without pulses it opened after %.2f s, at most %.2f s are allowed: shorten the one-shot, or correct the bench file", float64(lapse), float64(bound))
	}
	c.OK = c.Why == ""
	return c
}

// The bounds of the contactor, our choice.
const (
	dropWithin  unit.Seconds = 0.3
	lapseMargin unit.Seconds = 0.5 // above the one-shot
)

func ms(s unit.Seconds) Number { return Number(1000 * s) }
