package watch

// Margins are how near each detector came to its threshold in a run: the largest of
// statistic over threshold, 1 where it tells.
type Margins struct {
	ContactLost float64 `json:"contact_lost"` // missing volts over what is told as a lost part
	Breakdown   float64 `json:"breakdown"`    // current that nothing grows from, as far as it jumps
	Dips        float64 `json:"dips"`         // dips in ten seconds over those that trip
}

// margin keeps them: one comparison a tick each.
type margin struct{ lost, sparks, dips float64 }

// Margins returns them.
func (w *Watch) Margins() Margins {
	return Margins{ContactLost: w.margin.lost, Breakdown: w.margin.sparks, Dips: w.margin.dips}
}
