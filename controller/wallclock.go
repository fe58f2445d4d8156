package controller

import (
	"fmt"
	"time"

	"anodized/controller/fault"
	"anodized/controller/process"
)

// steppedBy is how far the wall clock may move against the monotonic one between two
// ticks. Less is a clock that is being trimmed.
const steppedBy = 2 * time.Second

// wallClock compares the wall clock, which is a label, with the monotonic one, which
// times the run. Nothing is decided from it.
type wallClock struct {
	began time.Time // a monotonic moment, to count from
	wall  time.Time
	ran   time.Duration // of the monotonic clock, when wall was read
}

// step is how far the wall clock moved since it was last asked, beyond the time that
// passed, and from where to where.
func (w *wallClock) step(wall time.Time) (by time.Duration, from time.Time) {
	if w.began.IsZero() {
		w.began, w.wall = time.Now(), wall
		return 0, wall
	}
	ran := time.Since(w.began)
	should := w.wall.Add(ran - w.ran)
	w.wall, w.ran = wall, ran
	return wall.Sub(should), should
}

// watchClock notes a wall clock that was set while the program ran.
func (s *Station) watchClock(cmd process.Command) {
	wall := s.options.WallClock().Round(0) // without its monotonic reading
	by, from := s.owner.wall.step(wall)
	if by.Abs() <= steppedBy {
		return
	}
	words := fmt.Sprintf("the clock of this computer stepped from %s to %s; the run is timed by another", stamp(from), stamp(wall))
	if s.owner.load == nil {
		s.log.Warn(words, "code", string(fault.ClockStepped))
		return
	}
	s.mark(cmd, fault.ClockStepped, words)
}

func stamp(t time.Time) string { return t.UTC().Format("2006-01-02 15:04:05Z") }

// ClockNotSet tells whether a wall clock shows a year before the program was built, as
// that of a board without a battery does until it has been told the time. BuildYear 0
// is not known.
func ClockNotSet(wall time.Time, buildYear int) bool { return wall.UTC().Year() < buildYear }

// watchDate marks a load whose date is wrong. Its number still orders it.
func (s *Station) watchDate(cmd process.Command) {
	if wall := s.options.WallClock(); ClockNotSet(wall, s.options.BuildYear) {
		s.mark(cmd, fault.ClockNotSet, fmt.Sprintf("the clock of this computer shows %s, before this program was built: it was not set", stamp(wall)))
	}
}
