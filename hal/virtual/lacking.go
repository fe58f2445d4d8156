package virtual

import "fmt"

// What a bench may have or not, and a fault may be of. The words are those of Setup.
const (
	Chain     = "chain"
	Voltmeter = "voltmeter"
	Airflow   = "ventilation"
)

// Lacking is the error of a fault that could do nothing: the bench does not have what it
// is of.
type Lacking struct {
	ID    string // of the fault
	Needs string // Chain, Voltmeter, Airflow; "" where it is a part of the rack, or a channel
	why   string
}

func (l *Lacking) Error() string { return fmt.Sprintf("fault %q: %s", l.ID, l.why) }

// missing are the words for what a bench does not have.
var missing = map[string]string{
	Chain:     "this bench has no contactor and no emergency stop",
	Voltmeter: "this bench has no independent voltmeter",
	Airflow:   "this bench has no airflow switch",
}

// has refuses a fault of what this bench does not have.
func (s Setup) has(f Fault, k *kind) error {
	hung := s.hung()
	switch {
	case k.needs != "" && !s.fitted()[k.needs]:
		return &Lacking{f.ID, k.needs, missing[k.needs]}
	case k.part == 0:
		return nil
	case k.rack && hung == 0:
		return &Lacking{ID: f.ID, why: "no part hangs in this bench"}
	case k.rack && f.Part > hung:
		return &Lacking{ID: f.ID, why: fmt.Sprintf("part=%d: this bench has parts 1 to %d", f.Part, hung)}
	case !k.rack && f.Part > channels:
		return &Lacking{ID: f.ID, why: fmt.Sprintf("part=%d: its channels are 1 and 2", f.Part)}
	}
	return nil
}

// fitted are the devices that not every bench has.
func (s Setup) fitted() map[string]bool {
	return map[string]bool{Chain: s.Chain, Voltmeter: s.Voltmeter, Airflow: s.Ventilation}
}

// channels are those of the lid switch, and of the emergency stop.
const channels = 2

// hung is how many parts hang in the bath.
func (s Setup) hung() (count int) {
	for _, part := range s.Parts {
		count += max(part.Count, 1)
	}
	return count
}
