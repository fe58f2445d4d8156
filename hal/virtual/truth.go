package virtual

import "anodized/hal/virtual/plant"

// Truth is what really is. Only tests and the campaign may look.
type Truth struct {
	plant.Truth
	Energised       bool    // the output was on since the rack went in
	RunSeconds      float64 // since the first energised second of the rack; negative before
	Output          bool    // what the supply says of its output; Powered is what it does
	HeldVolts       float64 // V, what it holds as its setpoint
	HeldAmperes     float64 // A, what it holds as its limit
	LostHostArmed   bool    // the supply switches off by itself when nothing comes
	OffAt           float64 // s, when the output was last switched off; below 0 before
	ContactorClosed bool    // its power contacts; true where there is none
	LidOpen         bool    // the lid itself, whatever the channels say
	Channels        [2]bool // what the channels say, closed
	Faults          []Active
}

// Truth is a copy of what really is.
func (b *Bench) Truth() Truth {
	var t Truth
	b.TruthInto(&t)
	return t
}

// TruthInto fills t, using its slices again where that is possible.
func (b *Bench) TruthInto(t *Truth) {
	b.mu.Lock()
	defer b.mu.Unlock()
	b.body.Truth(&t.Truth)
	t.Energised, t.Output = b.energised, b.registers.output
	t.HeldVolts, t.HeldAmperes = b.registers.set, b.registers.limit
	t.LostHostArmed = b.registers.lostHost
	t.RunSeconds, t.OffAt = -1, b.offAt
	if b.energised {
		t.RunSeconds = b.body.Seconds() - b.onAt
	}
	t.ContactorClosed = !b.setup.Chain || b.chain.closed
	t.LidOpen, t.Channels = b.lid.open > 0, b.lid.closed()
	t.Faults = b.active(t.Faults[:0])
}
