package process

import (
	"math"

	"anodized/controller/fault"
	"anodized/hal/unit"
)

// airFilter is how long an airflow switch must have stood one way before it counts: its
// vane flutters in a steady draught (common practice, no source). A run ends that long
// after the air was last proven. At 1 A the cathode makes 0.12 mL hydrogen a second
// (Faraday's law), so that what gathers meanwhile is nothing.
const airFilter unit.Seconds = 1

// air follows the airflow switch, judged like a lid with one contact.
type air struct {
	contact  lid
	fitted   bool
	provenAt unit.Seconds // the last reading that showed it closed
}

func newAir() air { return air{contact: newLid(), provenAt: unit.Seconds(math.Inf(-1))} }

func (a *air) see(in Ventilation, now unit.Seconds) {
	a.fitted = in.Fitted
	a.contact.see(Interlock{OK: in.OK, Closed: [2]bool{in.Closed, in.Closed}, At: in.At}, now)
	if in.OK && in.Closed {
		a.provenAt = in.At
	}
}

// lost tells whether nothing has proven the air for longer than the filter: an open
// contact and one that is not read are one.
func (a *air) lost(now unit.Seconds) bool {
	return a.fitted && now-a.provenAt > airFilter+1e-9
}

// missingVentilation wants it closed for as long as the filter, without a break.
func (m *Machine) missingVentilation() Reasons {
	switch c := &m.air.contact; {
	case !m.air.fitted:
		return 0
	case !c.fresh(m.now):
		return AirUnread
	case !(m.now-c.closedSince >= airFilter-1e-9): // true while it is not a number
		return AirNotProven
	}
	return 0
}

// guardVentilation: what was not read because the control was away is told as that.
func (m *Machine) guardVentilation() fault.Code {
	if m.dt > absence+1e-9 || !m.air.lost(m.now) {
		return ""
	}
	return fault.VentilationLost
}

// stillAir: a ventilation that ended a run has to be proven again.
func (m *Machine) stillAir() Reasons {
	if !m.also.With(m.trip).Has(fault.VentilationLost) {
		return 0
	}
	return m.missingVentilation()
}
