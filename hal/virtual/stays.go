package virtual

import "math"

const (
	changesAfter = 5.0   // s from the end of a load to the next rack
	touchVolts   = 5.0   // V across the cell, below which the lid is opened
	freshFor     = 150.0 // s after which a person looks at the rack once more before a load
)

// stays is a person who stays at the bench: after each load, once the cell is dead, the
// next rack goes in, also after one that ended before it was energised; and when
// somebody sets the supply up for a load long after that, the lid is opened once more.
type stays struct {
	prepared  bool    // a current limit was set since the rack went in
	deadSince float64 // s of the bench; infinite while the cell is live
	closed    float64 // s of the bench, when the lid was closed last
}

func newStays() stays { return stays{deadSince: math.Inf(1), closed: math.Inf(-1)} }

// due sends the person to the rack where it is time, and returns when it will be.
func (s *stays) due(b *Bench, now float64) float64 {
	if !b.setup.PersonStays || b.person.there {
		return math.Inf(1)
	}
	over := b.energised || s.prepared && b.registers.limit == 0
	if !over || b.registers.output || b.body.CellVolts() >= touchVolts {
		s.deadSince = math.Inf(1)
		return math.Inf(1)
	}
	s.deadSince = math.Min(s.deadSince, now)
	if due := s.deadSince + changesAfter; due > now {
		return due
	}
	s.prepared = false
	b.person.hangs(now)
	return b.person.opens
}

// setUp is somebody who sets a current limit with the output off: a load is to come.
func (s *stays) setUp(b *Bench, amperes float64) {
	now := b.body.Seconds()
	s.prepared = s.prepared || amperes > 0
	if b.setup.PersonStays && amperes > 0 && !b.registers.output && !b.person.there && now-s.closed > freshFor {
		b.person.hangs(now)
	}
}
