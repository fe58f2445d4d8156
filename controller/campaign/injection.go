package campaign

import (
	"math"
	"slices"
	"sync"

	"anodized/controller/fault"
	"anodized/controller/process"
	"anodized/controller/record"
	"anodized/hal/unit"
	"anodized/hal/virtual"
)

// Injection is one sort of fault that a campaign puts into loads.
type Injection struct {
	ID   string       // its name in the report: as a rule that of the virtual bench
	Row  string       // of the catalogue; "": as ID
	Code fault.Code   // what the station should call it; "": nothing may be made of it
	Like []fault.Code // what it is found as, too; a trip among them names it as what it could be

	Bound float64 // s, within which it must be found inside its region; 0: none is stated

	prepare func(d draw, c *Case)       // makes the fault: a line of the timetable, or another rack
	region  func(r Report) bool         // whether the plant was where it must be seen; nil: always
	shows   func(t *virtual.Truth) bool // when a fault that is there begins to show; nil: at once
	anyTime bool                        // it is judged in the states without power too
}

// injections lists every sort once; nothing changes it.
var injections = sync.OnceValue(func() []Injection {
	all := slices.Concat(contactInjections, filmInjections, judgedInjections, bathInjections, outputInjections, readbackInjections,
		linkInjections, panelInjections, chainInjections, computerInjections)
	for n := range all {
		if all[n].Row == "" {
			all[n].Row = all[n].ID
		}
	}
	return all
})

// Injections lists every sort, in the order of the report.
func Injections() []Injection { return injections() }

// add puts a line on the timetable.
func (c *Case) add(f virtual.Fault) { c.Setup.Faults = append(c.Setup.Faults, f) }

func (c *Case) later(l Late) { c.Late = append(c.Late, l) }

func (c *Case) target() float64 { return float64(c.Request.Profile.Target.Volts) }

// parts makes the rack one of so many parts; the area stays.
func (c *Case) parts(n int) {
	area := areaOf(c)
	declared := float64(c.Request.Rack.Parts[0].Shape.Area) * float64(c.Request.Rack.Parts[0].Count)
	c.Setup.Parts = []virtual.Part{{Area: unit.SquareCentimetres(area / float64(n)), Count: n}}
	c.Request.Rack.Parts[0].Count = n
	c.Request.Rack.Parts[0].Shape.Area = unit.SquareCentimetres(declared / float64(n))
}

// inRamp is a moment by volts, from the first on, below the target.
func (d draw) inRamp(c *Case, first float64) virtual.Moment {
	return virtual.AtVolts(unit.Volts(d.between(math.Min(first, 0.7*c.target()), 0.95*c.target())))
}

// underPower is in the ramp for two of three, else in the hold: from 3 s on by the
// timetable, or from its first tick on.
func (d draw) underPower(c *Case, first float64, f virtual.Fault) {
	if d.IntN(6) == 0 {
		late := d.inState(process.Holding, 40)
		late.Fault = f
		c.later(late)
		return
	}
	f.At = d.anywhere(c, first)
	c.add(f)
}

// at is a fault of the virtual bench of its own size, at a moment of any state.
func at(id string) func(draw, *Case) {
	return func(d draw, c *Case) { d.inAnyState(c, virtual.Fault{ID: id}) }
}

// anywhere is in the ramp for two of three, else in the hold.
func (d draw) anywhere(c *Case, first float64) virtual.Moment {
	if d.IntN(3) == 0 {
		return virtual.AfterHold(unit.Seconds(d.between(3, 30)))
	}
	return d.inRamp(c, first)
}

// inAnyState puts a fault at a moment of any state.
func (d draw) inAnyState(c *Case, f virtual.Fault) {
	late := d.anyState(c)
	late.Fault = f
	c.later(late)
}

// atStart is a fault that is there before the rack goes in.
func atStart(id string) func(draw, *Case) {
	return func(_ draw, c *Case) { c.add(virtual.Fault{ID: id}) }
}

// sized draws the size of a fault.
func sized(id string, low, high float64) func(draw, *Case) {
	return func(d draw, c *Case) { d.inAnyState(c, virtual.Fault{ID: id, Size: d.between(low, high)}) }
}

// fault is the line of the timetable that the first injection is.
func (r *Report) fault() virtual.Fault {
	for _, f := range r.Case.Setup.Faults {
		if f.ID == r.Case.First {
			return f
		}
	}
	for _, l := range r.Case.Late {
		if l.Fault.ID == r.Case.First {
			return l.Fault
		}
	}
	return virtual.Fault{}
}

// after is how long the load was under power after the fault began, s.
func (r *Report) after() float64 {
	if r.Result.EnergisedSeconds == nil {
		return 0
	}
	return *r.Result.EnergisedSeconds - r.Onset
}

// wentOn tells whether the load was under power so long after the fault, or was ended.
func (r *Report) wentOn(seconds float64) bool {
	return r.Result.Outcome == record.Tripped || r.after() > seconds
}
