package campaign

import (
	"math"
	"math/rand/v2"

	"anodized/controller/fault"
	"anodized/controller/process"
	"anodized/hal/unit"
)

// bareTicks is how many ticks the bare loop gets in a run of disorder.
const bareTicks = 600

// bare turns the process alone, without the Station that keeps nonsense from it: inputs
// that are mostly those of a bench that obeys, and now and then anything at all.
type bare struct {
	*chaos
	report  *Report
	loop    *process.Loop
	in      process.Input
	last    process.Command
	strange float64 // share of inputs that are anything
}

// bareLoop runs it, and keeps the first violation of each sort.
func (r *Report) bareLoop() {
	c := &r.Case
	limits := c.Setup.Parameters.Output
	b := &bare{chaos: &chaos{Chaos: c.Chaos, draw: draw{rand.New(rand.NewPCG(c.Seed, stream+7))}}, report: r,
		loop: process.NewLoop(process.Config{VoltStep: unit.Volts(limits.VoltStep), AmpereStep: unit.Amperes(limits.AmpereStep),
			HighestVolts: c.Setup.HighestVolts, HighestAmperes: c.Setup.HighestAmperes, Settle: 0.15, Tick: unit.Seconds(c.Tick.Seconds())})}
	b.strange = pick(b.draw, 0, b.decades(1e-3, 1))
	b.loop.Load(r.Plan)
	for n := range bareTicks {
		b.next(n)
		energised := b.last.State.Energised()
		b.last = b.loop.Tick(&b.in)
		b.judge(energised)
	}
}

// next is the input of a tick: of a bench that obeys, with a lid that is opened and
// closed first; then something strange.
func (b *bare) next(n int) {
	in, c := &b.in, &b.report.Case
	in.Now += unit.Seconds(c.Tick.Seconds())
	closed := n < 5 || n > 25
	in.Interlock = process.Interlock{OK: true, Closed: [2]bool{closed, closed}, At: in.Now}
	volts, amperes := b.last.Set, unit.Amperes(0)
	if b.last.On {
		amperes = b.report.Plan.Expected.RampCurrent
	}
	in.Reading = process.Reading{OK: true, Volts: volts, Amperes: amperes, Mode: process.ConstantVoltage, At: in.Now}
	in.Held = process.Held{OK: true, Set: b.last.Set, Limit: b.last.Limit, Output: process.OutputOff, At: in.Now}
	if b.last.On {
		in.Held.Output = process.OutputOn
	}
	in.Bath = process.Bath{Fitted: true, OK: true, Celsius: b.report.Plan.BathWindow.Law, At: in.Now}
	in.Durable, in.Event, in.Link = b.last.Intent || in.Durable, process.NoEvent, ""
	if n == 1 {
		in.Event = process.Start
	}
	if n > 1 && b.chance(b.strange) {
		b.spoil()
	}
}

// spoil makes one thing strange.
func (b *bare) spoil() {
	in := &b.in
	switch b.IntN(7) {
	case 0:
		in.Now += unit.Seconds(b.between(0, 5))
	case 1:
		in.Event = process.Event(b.IntN(256))
	case 2:
		in.Event = process.Event(b.IntN(int(process.Acknowledge) + 1))
	case 3:
		in.Reading = process.Reading{OK: true, Volts: unit.Volts(b.float()), Amperes: unit.Amperes(b.float()),
			Mode: process.Mode(b.IntN(256)), At: unit.Seconds(b.float())}
	case 4:
		in.Held = process.Held{OK: true, Set: unit.Volts(b.float()), Limit: unit.Amperes(b.float()), Output: process.Output(b.IntN(256)), At: in.Now}
	case 5:
		in.Interlock = process.Interlock{OK: b.IntN(2) == 0, Closed: [2]bool{b.IntN(2) == 0, b.IntN(2) == 0}, At: unit.Seconds(b.float())}
	case 6:
		in.Bath = process.Bath{Fitted: true, OK: true, Celsius: unit.Celsius(b.float()), At: in.Now}
	}
}

// judge looks at what the process commands.
func (b *bare) judge(energised bool) {
	r, c, in := b.report, &b.last, &b.in
	for _, x := range [...]float64{float64(c.Set), float64(c.Limit), float64(c.T), c.Progress} {
		if math.IsNaN(x) || math.IsInf(x, 0) {
			r.violate(finite, "the bare loop commands %v V, %v A at %v s", c.Set, c.Limit, c.T)
		}
	}
	if c.Set > r.Plan.CeilingVolts || c.Set < 0 {
		r.violate(voltsBelow, "the bare loop commands %v V", c.Set)
	}
	if c.Limit > r.Plan.CurrentLimit || c.Limit < 0 {
		r.violate(limitBelow, "the bare loop commands %v A", c.Limit)
	}
	if c.On != c.State.Energised() {
		r.violate(offInTime, "on is %v in the state %v", c.On, c.State)
	}
	if c.On && !in.Durable {
		r.violate(intentFirst, "the bare loop is on without an intent row")
	}
	b.causes(energised)
}

// causes: a trip is one of the list and is told as long as it is latched; an event that
// nobody knows ends a load that is under power.
func (b *bare) causes(energised bool) {
	r, c := b.report, &b.last
	if _, known := fault.TripByCode(c.Trip); !known && (c.Trip != "" || c.State == process.Tripped) {
		r.violate(closedSet, "%q in the state %v", c.Trip, c.State)
	}
	if energised && b.in.Event > process.Acknowledge && (c.On || c.Trip == "") {
		r.violate(nothingLeft, "event %d under power: on is %v, trip %q", b.in.Event, c.On, c.Trip)
	}
}
