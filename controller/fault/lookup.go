package fault

import "slices"

// Trips returns the closed table of trips in the order of precedence.
func Trips() []Trip { return slices.Clone(trips) }

// Kinds returns the table of findings.
func Kinds() []Kind {
	all := slices.Clone(kinds)
	for n := range all {
		all[n] = all[n].whole()
	}
	return all
}

// whole is the row with the look-alikes of the trip of the same code.
func (k Kind) whole() Kind {
	if trip, known := TripByCode(k.Code); known && k.Confused == nil {
		k.Confused = trip.Confused
	}
	return k
}

// TripByCode returns the row of a trip; false where the code is no trip.
func TripByCode(code Code) (Trip, bool) {
	i := slices.IndexFunc(trips, func(t Trip) bool { return t.Code == code })
	if i < 0 {
		return Trip{}, false
	}
	return trips[i], true
}

// OfTrip is a trip as a finding of the run that it ended.
func OfTrip(code Code, atSeconds float64) Finding {
	row, _ := TripByCode(code)
	return Finding{Code: code, Severity: Fault, AtSeconds: atSeconds, Evidence: []string{row.Message},
		Confidence: "certain", Action: row.Action, Confused: row.Confused}
}

// KindByCode returns the row of a finding; false where the code is no finding.
func KindByCode(code Code) (Kind, bool) {
	i := slices.IndexFunc(kinds, func(k Kind) bool { return k.Code == code })
	if i < 0 {
		return Kind{}, false
	}
	return kinds[i].whole(), true
}

// Precedence is the place of a trip in the order of first causes, 0 first. A code
// that is no trip comes after all trips.
func Precedence(code Code) int {
	for i := range trips {
		if trips[i].Code == code {
			return i
		}
	}
	return len(trips)
}

// First returns which of two trips of one tick is the first cause. "" is no trip.
func First(a, b Code) Code {
	switch {
	case a == "":
		return b
	case b == "" || Precedence(a) <= Precedence(b):
		return a
	default:
		return b
	}
}
