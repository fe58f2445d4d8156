package proof

import (
	"fmt"

	"anodized/hal/unit"
	"anodized/profiles"
)

// The ways in which a bench may be narrowed.
const (
	NothingRuns  = "nothing-runs"      // nothing may be energised
	AttendedOnly = "attended-only"     // somebody stays at the bench
	NeverStarved = "cannot-be-starved" // a supply that does not obey off cannot be set to nothing
	NeverSafe    = "never-proven-safe-to-open"
	ColourDoubt  = "colour-uncertain"
)

// Narrowing is one thing that a bench may not do, and why.
type Narrowing struct {
	What string `json:"what"`
	Why  string `json:"why"`
}

// mostRipple is the ripple, peak to peak, from which a person is told: half of it is what
// the peak is above the reading. Our choice, a volt being about the tolerance of a colour.
const mostRipple unit.Volts = 1

// Permit says what the answers of a bench, and the answers that nobody gave, allow.
func Permit(b profiles.Bench) SetUp {
	s := SetUp{Answers: b.SetUp, Missing: []string{}, Narrows: []Narrowing{}}
	for _, q := range profiles.Questions() {
		if unanswered(q.Of(b.SetUp)) && !q.Needless(b) {
			s.Missing = append(s.Missing, q.Key)
		}
	}
	given := b.SetUp
	if given == nil {
		given = &profiles.SetUp{}
	}
	s.isolated(given)
	s.dies(b, given)
	s.starves(b)
	s.opens(b, given)
	s.colours(given)
	return s
}

func (s *SetUp) narrow(what, why string, args ...any) {
	s.Narrows = append(s.Narrows, Narrowing{what, fmt.Sprintf(why, args...)})
}

func unanswered(a *profiles.Answer) bool { return a == nil || a.Is(profiles.NotKnown) }

func (s *SetUp) isolated(given *profiles.SetUp) {
	switch {
	case given.Isolation.Is(profiles.NotIsolated):
		s.narrow(NothingRuns, "the output is not isolated: the bath is the mains, and whoever touches it may die; use an isolated supply")
	case unanswered(given.Isolation):
		s.narrow(AttendedOnly, "nobody has said whether the output is isolated from the mains and from earth")
	}
}

// dies is about what is left when this computer, or the mains, goes.
func (s *SetUp) dies(b profiles.Bench, given *profiles.SetUp) {
	_, timed := given.LostHostTimer.Measure()
	after, arms := b.ArmsLostHost()
	s.ArmsLostHost = unit.Seconds(after.Seconds())
	switch {
	case arms: // and no load starts where the supply does not confirm it
	case b.Contactor == nil && !timed:
		s.narrow(AttendedOnly, "there is no contactor, and the supply stays on when this computer dies")
	case unanswered(given.LostHostTimer):
		s.narrow(AttendedOnly, "nobody has said whether the supply switches off by itself when this computer dies")
	}
	if unanswered(given.Contactor) {
		s.narrow(AttendedOnly, "nobody has said which pole the contactor breaks, if there is one")
	}
	if unanswered(given.MainsReturn) {
		s.narrow(AttendedOnly, "nobody has tried what the output does when the mains return")
	}
}

// starves is about a supply that does not obey off.
func (s *SetUp) starves(b profiles.Bench) {
	volts, amperes := b.Supply.Least()
	if volts <= 0 && amperes <= 0 {
		return
	}
	s.narrow(NeverStarved, "its map lets it be set to no less than %v and %v: one that does not obey off goes on giving that, and only contactor, emergency stop or plug end it", volts, amperes)
	if b.Contactor == nil {
		s.narrow(AttendedOnly, "the supply cannot be set to zero, and there is no contactor: one that does not obey off needs somebody at its plug")
	}
}

// opens is about what proves a dead cell.
func (s *SetUp) opens(b profiles.Bench, given *profiles.SetUp) {
	if b.Voltmeter != nil || given.Measured.Is(profiles.CellSide) {
		return
	}
	if _, bled := given.Bleed.Measure(); !bled {
		s.narrow(NeverSafe, "no bleed resistor is known of, and the volts are read on the supply's side: an open contactor cuts the cell off from that meter")
	}
}

func (s *SetUp) colours(given *profiles.SetUp) {
	ripple, measured := given.Ripple.Measure()
	switch {
	case !measured:
		s.narrow(ColourDoubt, "the ripple is not measured: colour follows the peak, and the meter shows the mean")
	case unit.Volts(ripple) > mostRipple:
		s.narrow(ColourDoubt, "a ripple of %v peak to peak: colour follows the peak, up to %.2g V above what the meter shows", unit.Volts(ripple), ripple/2)
	}
}

// Whys are the reasons for one kind of narrowing.
func (s SetUp) Whys(what string) (list []string) {
	for _, n := range s.Narrows {
		if n.What == what {
			list = append(list, n.Why)
		}
	}
	return list
}
