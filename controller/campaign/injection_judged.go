package campaign

import (
	"math"

	"anodized/controller/fault"
	"anodized/controller/process"
	"anodized/hal/unit"
	"anodized/hal/virtual"
)

// judgedInjections are loads whose end or pace is what is wrong with them.
var judgedInjections = []Injection{
	{ID: "under-formed", Code: fault.UnderFormed, prepare: func(d draw, c *Case) {
		ramp := c.target() / float64(c.Request.Profile.Ramp)
		l := d.inState(process.Ramping, ramp)
		if d.IntN(3) == 0 {
			l = d.inState(process.Holding, 8)
		}
		l.Stop = true
		c.later(l)
	}, region: func(r Report) bool {
		return r.AtEnd.Volts < float64(r.Plan.TargetVolts)-0.4 || r.AtEnd.Amperes > 1.4*float64(r.Plan.End.Current)
	}},
	{ID: "limited-by-current", Code: fault.LimitedByCurrent, prepare: func(d draw, c *Case) {
		c.Request.Profile.CurrentDensity = unit.CurrentDensity(d.between(1, 2))
		c.Request.Profile.Ramp = unit.VoltsPerSecond(d.between(1, 2))
	}, shows: limited, region: func(r Report) bool {
		return r.Result.RampSeconds != nil && *r.Result.RampSeconds > 20+1.3*float64(r.Plan.TargetVolts)/float64(r.Plan.Ramp)
	}},
	{ID: "target-not-reached", Code: fault.TargetNotReached, Like: []fault.Code{fault.LeakPlateau, fault.AreaUnderstated,
		fault.ForeignMetalWetted, fault.PolaritySwapped, fault.ShortCircuit, fault.Breakdown}, // volts that stand at the limit, and the second point of a leak beside a growing film
		prepare: func(d draw, c *Case) {
			// what the limit gives through it stays below the target
			c.add(virtual.Fault{ID: "leak", Size: c.target() / limitOf(c) * d.between(0.3, 0.95)})
		}, shows: limited, region: func(r Report) bool { return float64(r.Plan.TargetVolts) > 15 }},
	{ID: "end-not-reached", Code: fault.EndNotReached, Like: []fault.Code{fault.LeakPlateau, fault.FilmDissolving, fault.CurrentOffset, fault.ReadbackStuck},
		prepare: func(d draw, c *Case) {
			l := d.inState(process.Holding, 3)
			l.Fault = virtual.Fault{ID: "current-offset", Size: d.between(1.1, 3) * endOf(c)}
			c.later(l)
		}},
	{ID: "readback-too-coarse", Code: fault.ReadbackTooCoarse, prepare: func(d draw, c *Case) {
		p := c.Setup.Parameters
		p.Meter.AmpereStep = endOf(c) * d.between(0.15, 1.2)
		p.Output.AmpereStep = p.Meter.AmpereStep
	}, region: func(r Report) bool {
		return r.Case.Setup.Parameters.Meter.AmpereStep > 1.02*float64(r.Plan.End.Current)/5
	}},
	{ID: "record-gap", Code: fault.RecordGap, Like: []fault.Code{fault.SupplySilent}, prepare: func(d draw, c *Case) {
		d.underPower(c, 2, virtual.Fault{ID: "no-reading", For: tenths(1 + d.IntN(30))})
	}, region: func(r Report) bool { return r.fault().For.Seconds() > 0.5 && r.wentOn(0.5) }, Bound: 1.5},
	{ID: "readback-gain", prepare: func(d draw, c *Case) {
		c.add(virtual.Fault{ID: "readback-volts-gain", Size: d.between(0.995, 1.005)})
	}},
	{ID: "meter-gain", Row: "readback-gain", Code: fault.ReadbackGain, Like: []fault.Code{fault.ReadbackDisagrees}, prepare: func(d draw, c *Case) {
		c.Setup.Voltmeter = true
		c.add(virtual.Fault{ID: "meter-gain", Size: 1 + plusMinus(d)*d.between(0.003, 0.05)})
	}, region: func(r Report) bool {
		apart := math.Abs(r.fault().Size - 1)
		return apart > 0.0075 && apart*float64(r.Plan.TargetVolts) > 0.4
	}},
	{ID: "setpoint-gain", Row: "over-voltage", Code: fault.OverVoltage, Like: []fault.Code{fault.SupplyTripped},
		prepare: sized("setpoint-gain", 1.03, 1.2),
		shows: func(t *virtual.Truth) bool {
			return t.Live && t.Volts > t.HeldVolts+math.Max(0.5, 0.01*t.HeldVolts)
		}, Bound: 1},
}

// plusMinus is one or the other.
func plusMinus(d draw) float64 { return float64(2*d.IntN(2) - 1) }

// declare states an area that is so many times the true one.
func (c *Case) declare(times float64) {
	c.Request.Rack.Parts[0].Shape.Area *= unit.SquareCentimetres(times)
}

func areaOf(c *Case) float64 {
	area := 0.0
	for _, p := range c.Setup.Parts {
		area += float64(p.Area) * float64(max(p.Count, 1))
	}
	return area
}

// limitOf is the current limit that the plan will have, A.
func limitOf(c *Case) float64 {
	return float64(c.Request.Profile.CurrentDensity) * 1e-3 * areaOf(c)
}

func trueShare(r Report) float64 { return areaOf(&r.Case) / float64(r.Plan.Area) }
