package campaign

import (
	"math"
	"slices"

	"anodized/controller"
	"anodized/hal"
	"anodized/hal/virtual"
)

// auditor holds what is known of a run from the plant and the wire, and judges each tick
// and each word. It keeps the first violation of each sort.
type auditor struct {
	report *Report

	durable bool // the recorder has the intent row
	starts  int  // loads that were asked for and may still be energised: one or none
	offed   bool // the first write of this life was off

	now     float64 // s of the bench
	lidOpen bool    // the lid itself, at the top of this tick
	opened  float64 // s, since when it is open; NaN: it is closed
	saidOn  bool    // the last word to the output was on
	told    telling
	powered float64 // s with power, up to the first word for off
	above   int     // readings in a row above the ceiling, with the output on
	sample  hal.Sample
	read    bool // there was a reading in this tick
}

func newAuditor(r *Report) *auditor {
	nan := math.NaN()
	return &auditor{report: r, opened: nan}
}

// on tells whether the last word to the output was on.
func (a *auditor) on() bool { return a.saidOn }

// asked judges a value that is sent to the supply.
func (a *auditor) asked(value, most float64, invariant, in string) {
	a.wrote()
	switch {
	case math.IsNaN(value) || math.IsInf(value, 0) || value < 0:
		a.report.violate(finite, "the supply is asked for %v %s", value, in)
	case value > most+1e-9:
		a.report.violate(invariant, "the supply is asked for %.4f %s, at most %.4f %s", value, in, most, in)
	}
}

func (a *auditor) wrote() {
	if !a.offed {
		a.report.violate(offFirst, "at %.2f s another word was the first", a.now)
	}
}

func (a *auditor) energise() {
	a.wrote()
	if !a.durable {
		a.report.violate(intentFirst, "on at %.2f s without an intent row", a.now)
	}
	if a.starts == 0 {
		a.report.violate(offFirst, "on at %.2f s without a start", a.now)
	}
	if a.lidOpen {
		a.report.violate(lidEnds, "on at %.2f s with an open lid", a.now)
	}
	a.starts, a.saidOn, a.above = 0, true, 0
}

func (a *auditor) halt(confirmed bool) {
	a.offed, a.told, a.above = true, saysNothing, 0
	if confirmed {
		a.told = saysOff
	}
	a.saidOn = false
}

// mostAbove is how many readings may show too many volts before off is said.
const mostAbove = 2

func (a *auditor) measured(s hal.Sample, err error) {
	if a.above >= mostAbove && a.on() {
		a.report.violate(voltsBelow, "%d readings above the ceiling, and still no off at %.2f s", a.above, a.now)
	}
	a.read = err == nil
	if !a.read {
		return
	}
	a.sample = s
	if a.on() && float64(s.Volts) > float64(a.report.Plan.CeilingVolts)+0.5 && a.report.Case.Chaos == nil {
		a.above++
	} else {
		a.above = 0
	}
}

// see judges a moment of the plant, before the Station's tick.
func (a *auditor) see(t *virtual.Truth) {
	dt := t.Seconds - a.now
	a.now, a.lidOpen, a.read = t.Seconds, t.LidOpen, false
	if t.Live && a.on() {
		a.powered += dt
	}
	a.lid(t)
	if !t.Powered {
		return
	}
	if !a.durable {
		a.report.violate(intentFirst, "power at %.2f s without an intent row", t.Seconds)
	}
	if !a.report.injected(supplysOwn) {
		a.limits(t)
	}
}

// The times from a lid that opens, s: until off is on the wire, and until the cell is
// without power where a contactor parts it by wire.
const (
	offOnWire  = 0.35
	contactors = 0.05
)

// lid judges the word for off on the wire, which no deaf supply can spoil, and the power
// where the bench has a contactor that works.
func (a *auditor) lid(t *virtual.Truth) {
	c := &a.report.Case
	if !t.LidOpen {
		a.opened = math.NaN()
		return
	}
	if math.IsNaN(a.opened) {
		a.opened = t.Seconds
	}
	open, stall := t.Seconds-a.opened, a.report.stalled
	if a.on() && open > offOnWire+c.Tick.Seconds()*(1+c.Jitter)+stall {
		a.report.violate(lidEnds, "no off on the wire %.2f s after the lid opened", open)
	}
	if c.Setup.Chain && t.Live && open > contactors+c.Tick.Seconds()*(1+c.Jitter)+stall && !a.report.injected(weld) {
		a.report.violate(lidEnds, "power %.2f s after the lid opened, through the contactor", open)
	}
}

func (a *auditor) limits(t *virtual.Truth) {
	p, step := &a.report.Plan, a.report.Case.Setup.Parameters.Output.AmpereStep
	if most := float64(p.CeilingVolts) + 0.5; t.CellVolts > most {
		a.report.violate(voltsBelow, "%.2f V, at most %.2f V", t.CellVolts, most)
	}
	if most := float64(a.report.Case.Setup.HighestVolts); t.CellVolts > most*(1+1e-9) {
		a.report.violate(voltsBelow, "%.2f V, the bench has %.2f V", t.CellVolts, most)
	}
	if t.HeldAmperes > float64(p.CurrentLimit)+step {
		a.report.violate(limitBelow, "%.4f A held, %.4f A planned", t.HeldAmperes, float64(p.CurrentLimit))
	}
	if most := t.HeldAmperes*1.02 + 0.01; t.Amperes > most && t.HeldAmperes > 0 {
		a.report.violate(currentBelow, "%.4f A flow, %.4f A is the limit", t.Amperes, t.HeldAmperes)
	}
}

// shown judges what the Station shows at the end of a tick against what it was told in it.
func (a *auditor) shown(s *controller.Snapshot) {
	r := a.report
	if s.Tick == 0 {
		return
	}
	if a.on() && !slices.Contains(underPower, s.State) {
		r.violate(offInTime, "%s at %.2f s and no off on the wire", s.State, a.now)
	}
	if s.Supply.Output == "off" && a.told != saysOff {
		r.violate(unknownIsUnknown, "shown as off at %.2f s; told was %d (0: nothing, 2: on)", a.now, a.told)
	}
	if !s.Supply.Volts.Known() && !s.Supply.Amperes.Known() {
		return
	}
	if !a.read || float64(s.Supply.Volts) != float64(a.sample.Volts) || float64(s.Supply.Amperes) != float64(a.sample.Amperes) {
		r.violate(unknownIsUnknown, "%v V and %v A are shown at %.2f s and were not read", s.Supply.Volts, s.Supply.Amperes, a.now)
	}
	if age := s.Supply.AgeMS; !age.Known() || age < 0 || age > 1000 {
		r.violate(unknownIsUnknown, "%v V are shown at %.2f s with an age of %v ms", s.Supply.Volts, a.now, age)
	}
}
