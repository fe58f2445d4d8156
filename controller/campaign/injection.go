package campaign

import (
	"math"
	"math/rand/v2"

	"anodized/controller/colour"
	"anodized/controller/fault"
	"anodized/hal/unit"
	"anodized/hal/virtual"
)

// Injection is one sort of fault that a campaign puts into loads.
type Injection struct {
	ID   string       // its name in the report: as a rule that of the virtual bench
	Code fault.Code   // what the station should call it
	Like []fault.Code // what it may be taken for

	prepare func(d draw, c *Case)       // makes the fault: a line of the timetable, or another rack
	region  func(r Report) bool         // whether the plant was where it must be seen; nil: always
	shows   func(t *virtual.Truth) bool // when a fault that is there begins to show; nil: at once
}

// Injections lists every sort, in the order of the report.
func Injections() []Injection {
	var all []Injection
	for _, group := range [][]Injection{contactInjections, filmInjections, bathInjections, supplyInjections, chainInjections} {
		all = append(all, group...)
	}
	return all
}

// OneFault draws a healthy load and puts one fault into it.
func OneFault(seed uint64, in Injection, surface *colour.Surface) Case {
	c := Healthy(seed, surface, Spread{OwnCalibration: true})
	c.Injection = &in
	d := draw{rand.New(rand.NewPCG(seed, stream+2))}
	c.Request.Bath.Series = unit.Ohms(seriesOf(&c) * areaOf(&c) / 200 * d.between(0.8, 1.25)) // a shop knows its bath
	in.prepare(d, &c)
	return c
}

// add puts a line on the timetable.
func (c *Case) add(f virtual.Fault) { c.Setup.Faults = append(c.Setup.Faults, f) }

func (c *Case) target() float64 { return float64(c.Request.Profile.Target.Volts) }

// parts makes the rack one of so many parts; the area stays.
func (c *Case) parts(n int) {
	area := 0.0
	for _, p := range c.Setup.Parts {
		area += float64(p.Area) * float64(max(p.Count, 1))
	}
	declared := float64(c.Request.Rack.Parts[0].Shape.Area) * float64(c.Request.Rack.Parts[0].Count)
	c.Setup.Parts = []virtual.Part{{Area: unit.SquareCentimetres(area / float64(n)), Count: n}}
	c.Request.Rack.Parts[0].Count = n
	c.Request.Rack.Parts[0].Shape.Area = unit.SquareCentimetres(declared / float64(n))
}

// inRamp is a moment by volts, from the first on, below the target.
func (d draw) inRamp(c *Case, first float64) virtual.Moment {
	return virtual.AtVolts(unit.Volts(d.between(math.Min(first, 0.7*c.target()), 0.95*c.target())))
}

// anywhere is in the ramp for two of three, else in the hold.
func (d draw) anywhere(c *Case, first float64) virtual.Moment {
	if d.IntN(3) == 0 {
		return virtual.AfterHold(unit.Seconds(d.between(3, 30)))
	}
	return d.inRamp(c, first)
}

// at is a fault of the virtual bench of its own size, at a moment of any state.
func at(id string) func(draw, *Case) {
	return func(d draw, c *Case) { c.add(virtual.Fault{ID: id, At: d.anywhere(c, 2)}) }
}

// atStart is a fault that is there before the rack goes in.
func atStart(id string) func(draw, *Case) {
	return func(_ draw, c *Case) { c.add(virtual.Fault{ID: id}) }
}

// sized draws the size of a fault.
func sized(id string, low, high float64) func(draw, *Case) {
	return func(d draw, c *Case) { c.add(virtual.Fault{ID: id, At: d.anywhere(c, 2), Size: d.between(low, high)}) }
}
