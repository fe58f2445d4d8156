package match

import (
	"anodized/controller/colour"
	"anodized/hal/unit"
)

// The limits of a set, CIEDE2000: common practice, no source.
const (
	PairWarn     = 1.0
	PairReject   = 2.0
	MasterWarn   = 2.0
	MasterReject = 3.0
)

// Limits are what a shop takes of a set.
type Limits struct {
	PairWarn, PairReject, MasterWarn, MasterReject float64
}

// UsualLimits are those of common practice.
func UsualLimits() Limits { return Limits{PairWarn, PairReject, MasterWarn, MasterReject} }

// Mark is how a set, or a pair of it, does by the limits.
type Mark string

// The marks.
const (
	Good   Mark = "accept"
	Warn   Mark = "warn"
	Reject Mark = "reject"
)

func mark(de00, warn, reject float64) Mark {
	switch {
	case !(de00 <= reject):
		return Reject
	case de00 > warn:
		return Warn
	}
	return Good
}

// Pair is two pieces of a set, by their places.
type Pair struct {
	One, Two int
	DE00     float64
	Mark     Mark
}

// Set is a set that was judged.
type Set struct {
	Mark     Mark
	Pairs    []Pair
	Worst    Pair
	ToMaster []Pair    // of each piece (One); nil without a master
	Pieces   []Outcome // towards the set's goal
	Ahead    int       // the piece furthest ahead; -1: no film is known
	Goal     Goal      // of the pieces that are behind
	ByPiece  bool      // the goal is the colour of the piece furthest ahead
	Film     unit.Nanometres
}

// JudgeSet compares pieces with each other and with a master, which may be nil. The
// goal of those that are behind is the master, or the piece furthest ahead where that
// is past it or there is none: nothing goes back.
func (b Basis) JudgeSet(pieces []Piece, master *Goal, l Limits, readingSD float64) Set {
	s := Set{Ahead: -1, Mark: Good}
	films := make([]Film, len(pieces))
	for i, p := range pieces {
		films[i] = b.Film(p, readingSD)
		if films[i].Doubt == "" && (s.Ahead < 0 || films[i].Thickness > films[s.Ahead].Thickness) {
			s.Ahead = i
		}
	}
	s.compare(pieces, master, l)
	if s.Ahead < 0 && master == nil {
		return s
	}
	s.aim(b, pieces, films, master, l)
	for _, p := range pieces {
		s.Pieces = append(s.Pieces, b.Judge(p, s.Goal, readingSD))
	}
	return s
}

func (s *Set) compare(pieces []Piece, master *Goal, l Limits) {
	for i := range pieces {
		for j := range i {
			de00 := colour.Difference(pieces[j].Measured, pieces[i].Measured)
			s.add(&s.Pairs, Pair{j, i, de00, mark(de00, l.PairWarn, l.PairReject)})
			if len(s.Pairs) == 1 || de00 > s.Worst.DE00 {
				s.Worst = s.Pairs[len(s.Pairs)-1]
			}
		}
		if master != nil {
			de00 := colour.Difference(pieces[i].Measured, master.Lab)
			s.add(&s.ToMaster, Pair{i, i, de00, mark(de00, l.MasterWarn, l.MasterReject)})
		}
	}
}

// add keeps a pair; the worst mark is the set's.
func (s *Set) add(to *[]Pair, p Pair) {
	*to = append(*to, p)
	if p.Mark == Reject || (p.Mark == Warn && s.Mark == Good) {
		s.Mark = p.Mark
	}
}

// aim chooses the goal.
func (s *Set) aim(b Basis, pieces []Piece, films []Film, master *Goal, l Limits) {
	if master != nil {
		s.Goal = *master
		if s.Ahead < 0 {
			return
		}
		p := pieces[s.Ahead]
		s.Film = b.film(*master, films[s.Ahead], p.Volts, b.slopeOf(p, films[s.Ahead])).Thickness
		if films[s.Ahead].Thickness <= s.Film+films[s.Ahead].SD {
			return
		}
	}
	ahead := pieces[s.Ahead]
	s.ByPiece, s.Film = true, films[s.Ahead].Thickness
	s.Goal = Goal{Lab: ahead.Measured, Tolerance: l.PairWarn, Volts: ahead.Volts}
}
