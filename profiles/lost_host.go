package profiles

import (
	"strings"
	"time"

	"anodized/hal/unit"
)

// The lost-host timer of a supply that speaks SCPI may fire after so long. A second is what
// a run itself takes for silence, and the least that such timers take; more than three is
// long for whoever has a hand at the bath. Our choice.
const (
	shortestLostHost unit.Seconds = 1
	longestLostHost  unit.Seconds = 3
)

// lostHost reads what belongs together: the header that switches the timer, and the one that
// sets its delay. No standard names them, so they have no default.
func (r *report) lostHost(g given, d *Dialect) {
	both := []string{"lost_host_switch", "lost_host_delay"}
	switch there := g.present(both); {
	case len(there) == 1:
		r.say(g.seen[there[0]], "%s: it needs %s beside it: one header switches the lost-host timer on and off, the other sets its delay; the manual of the supply has both",
			there[0], strings.Trim(strings.Replace(strings.Join(both, " "), there[0], "", 1), " "))
	case len(there) == 0 && g.has("lost_host_after"):
		r.say(g.seen["lost_host_after"], "lost_host_after: it needs lost_host_switch and lost_host_delay, the headers of the lost-host timer; the manual of the supply has both")
	case g.all(both...) && strings.EqualFold(d.LostHostSwitch, d.LostHostDelay):
		r.say(g.seen[both[1]], "lost_host_delay: %q switches the timer already; its delay has a header of its own", d.LostHostDelay)
	case g.all(both...) && !g.has("lost_host_after"):
		d.LostHostAfter = time.Duration(float64(shortestLostHost) * float64(time.Second))
	}
}

// ArmsLostHost tells whether the program arms the supply's own lost-host timer before it
// switches the output on, and with what delay.
func (b Bench) ArmsLostHost() (after time.Duration, arms bool) {
	d := &b.Supply.Dialect
	return d.LostHostAfter, b.Supply.Driver == "scpi" && d.LostHostSwitch != ""
}

// Needless tells whether the file of a bench answers a question already.
func (q Question) Needless(b Bench) bool {
	_, arms := b.ArmsLostHost()
	return q.Key == lostHostQuestion && arms
}

// lostHostAgrees compares the answer about the timer with the dialect that arms it.
func (r *report) lostHostAgrees(setUp *node, b Bench) {
	after, arms := b.ArmsLostHost()
	a := b.SetUp.LostHostTimer
	if !arms || a == nil || a.Is(NotKnown) {
		return
	}
	if value, timed := a.Measure(); !timed || value != after.Seconds() {
		r.say(setUp.at(lostHostQuestion), "lost-host timer: the set-up says %q, and by the supply's dialect the program arms it with %g s; leave this answer out, or correct the wrong one",
			Question{Symbol: unit.Symbol[unit.Seconds]()}.Say(a), after.Seconds())
	}
}
