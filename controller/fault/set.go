package fault

import "math/bits"

// Set is a set of trips, a bit for each row of the table in its order of precedence.
type Set uint32

// Of is the set of some trips. A code that is no trip adds nothing.
func Of(codes ...Code) Set {
	s := Set(0)
	for _, code := range codes {
		s = s.With(code)
	}
	return s
}

// With is the set and one more trip.
func (s Set) With(code Code) Set { return s | bit(code) }

// Without is the set less one trip.
func (s Set) Without(code Code) Set { return s &^ bit(code) }

// Has tells whether a trip is in the set.
func (s Set) Has(code Code) bool { return s&bit(code) != 0 }

// First is the first cause of the set; "" where it is empty.
func (s Set) First() Code {
	if s == 0 {
		return ""
	}
	return trips[bits.TrailingZeros32(uint32(s))].Code
}

// Codes are the trips of the set in their order; nil where it is empty.
func (s Set) Codes() (codes []Code) {
	for ; s != 0; s &= s - 1 {
		codes = append(codes, s.First())
	}
	return codes
}

func bit(code Code) Set {
	if code == "" {
		return 0
	}
	if row := Precedence(code); row < len(trips) {
		return 1 << row
	}
	return 0
}
