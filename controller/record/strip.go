package record

import "time"

// Strip is a person's word that the parts of a run were stripped: their film is gone, and
// with it some metal. It is counted, for the parts get thinner each time.
type Strip struct {
	SavedAt   time.Time `json:"saved_at"` // wall clock, a label
	By        string    `json:"by"`
	Note      string    `json:"note,omitempty"`
	Run       string    `json:"run"`            // the last that coloured them
	Part      string    `json:"part,omitempty"` // "": all parts of the run
	Simulated bool      `json:"simulated"`      // as the run is
}
