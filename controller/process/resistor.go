package process

import (
	"math"

	"anodized/controller/fault"
	"anodized/controller/plan"
	"anodized/hal/unit"
)

// Resistor is what hangs on the output in place of a bath.
type Resistor struct {
	Ohms unit.Ohms

	// Read is asked in each tick of a hold whether the person has read the second meter
	// of this stage; the hold ends once that is so.
	Read func(stage int) bool
}

// ResistorLoop is the tick of a bench with a resistor on its output. The machine is that
// of a load, so what must be there before the output goes on and what must end it are the
// same; only what watches the film is replaced by Ohm's law.
type ResistorLoop struct {
	*Loop
	resistor Resistor
	odd      int // readings in a row that are not of this resistor
	oddCode  fault.Code
	at       unit.Seconds // of the last reading that was judged
	stands   bool         // the last reading stands still
	volts    standing
	amperes  standing
}

// NewResistorLoop makes an idle loop one for a bench with this resistor.
func NewResistorLoop(l *Loop, r Resistor) *ResistorLoop {
	return &ResistorLoop{Loop: l, resistor: r}
}

// Load sets the plan that the next start begins; false while a run is on.
func (l *ResistorLoop) Load(p plan.Plan) bool {
	l.forget()
	return l.Loop.Load(p)
}

// Tick takes one step.
func (l *ResistorLoop) Tick(given *Input) Command {
	plausible := *given
	in := &plausible
	in.Reading.OK = in.Reading.OK && l.cfg.plausible(in.Reading)
	l.remember(in, l.tick(in))
	l.judge(in)
	l.last = l.machine.Step(in, &l.seen)
	return l.last
}

// The bounds within which a current is still that of the resistor, our choice: wide
// enough for a meter that the check is to find wanting, and far from a wire that fell off
// or a short circuit.
const (
	oddShare              = 0.4
	oddSteps              = 10
	oddBelow   unit.Volts = 2 // below, the current says nothing
	oddInARow             = 3
	heldByRead            = 0 // the density that ends a hold
)

// judge puts what Ohm's law says in the place of what watch would say.
func (l *ResistorLoop) judge(in *Input) {
	l.seen.Trip = ""
	l.seen.Estimates.Density = unit.CurrentDensity(math.Inf(1))
	if l.last.State == Holding && l.resistor.Read(l.last.Stage) {
		l.seen.Estimates.Density = heldByRead
	}
	if !in.Reading.OK {
		return
	}
	l.seen.Estimates.Current, l.seen.Estimates.Volts = in.Reading.Amperes, in.Reading.Volts
	if !l.last.State.Energised() {
		l.forget()
		return
	}
	if in.Reading.At != l.at {
		l.at = in.Reading.At
		l.ohm(in.Reading)
		l.stands = l.stuck(in.Reading)
	}
	switch {
	case l.odd >= oddInARow:
		l.seen.Trip = l.oddCode
	case l.stands:
		l.seen.Trip = fault.ReadbackStuck
	}
}

// forget begins to judge anew.
func (l *ResistorLoop) forget() {
	l.odd, l.oddCode, l.stands, l.volts, l.amperes = 0, "", false, standing{}, standing{}
}

// ohm counts readings in a row that stand on the same side of what can be.
func (l *ResistorLoop) ohm(r Reading) {
	expected := float64(r.Volts) / float64(l.resistor.Ohms)
	room := math.Max(oddShare*math.Abs(expected), oddSteps*float64(l.cfg.AmpereStep))
	code := fault.Code("")
	switch {
	case float64(r.Amperes) > expected+room:
		code = fault.ShortCircuit
	case r.Volts > oddBelow && float64(r.Amperes) < expected-room:
		code = fault.ContactLost
	}
	if code == "" || code != l.oddCode {
		l.odd = 0
	}
	l.oddCode = code
	if code != "" {
		l.odd++
	}
}
