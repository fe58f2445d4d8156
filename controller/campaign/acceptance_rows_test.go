package campaign

import (
	"math"
	"time"

	"anodized/controller/fault"
	"anodized/hal/unit"
	"anodized/hal/virtual"
)

// quietMeter makes the meters of a bench those of the reference: 0.3 % of noise, fine steps.
func quietMeter(d draw, c *Case) {
	m := &c.Setup.Parameters.Meter
	m.GasNoise = d.between(0.001, 0.003)
	m.AmpereStep = math.Min(m.AmpereStep, 0.002*rampOf(c))
	m.AmpereNoise = math.Min(m.AmpereNoise, 0.001*rampOf(c))
	m.VoltStep = math.Min(m.VoltStep, 0.02)
	c.Setup.Parameters.Output.AmpereStep = math.Min(c.Setup.Parameters.Output.AmpereStep, m.AmpereStep)
	c.Request.Profile.Ramp = unit.VoltsPerSecond(d.decades(0.5, 2))
	c.Request.Profile.Target.Volts = unit.Volts(d.between(30, 110))
}

// unpaced gives a current limit that does not set the pace.
func unpaced(c *Case) {
	j := 3.42 * float64(c.Request.Profile.Ramp) / c.Setup.Parameters.Film.Efficiency
	c.Request.Profile.CurrentDensity = unit.CurrentDensity(math.Max(float64(c.Request.Profile.CurrentDensity), 1.6*j))
	c.Setup.HighestAmperes = unit.Amperes(0.012 * areaOf(c) * math.Max(1, 1.6*j/10))
}

// cleanBath gives a bath whose resistance is at most so many ohm on a square centimetre.
func cleanBath(c *Case, most float64) {
	if now := seriesOf(c) * areaOf(c); now > most {
		c.Setup.Parameters.Cell.LeadOhms *= most / now
		c.Setup.Parameters.Cell.BathOhms *= most / now
		c.Request.Bath.Series *= unit.Ohms(most / now)
	}
}

// softBath gives a bath and leads that take two volts of the ramp at most: they hide two
// thirds of a lost part for some seconds then, and more of it above.
func (c *Case) softBath() { cleanBath(c, 2/rampOf(c)*areaOf(c)) }

// rampedOn: above the volts from which a part is judged, and two seconds of the ramp to go,
// since the bend into a hold is another row.
func rampedOn(r Report) bool {
	return r.OnsetHeld < 0 && r.OnsetVolts > 12.5 && roomToEnd(r, 2)
}

// bend is how long a ramp takes to turn into a hold, s: a part that is lost in it may go
// untold.
const bend = 4

// caught tells whether readings fall into a dip: it is longer than the longest time between
// two of them and the lag of the meter.
func caught(r Report) bool {
	longest := r.Case.Tick.Seconds() * (1 + r.Case.Jitter)
	return r.fault().For.Seconds() > longest+r.Case.Setup.Parameters.Meter.Settle/2
}

var acceptances = []acceptance{
	{Injection: Injection{ID: "contact-lost-ramp", Code: fault.ContactLost, prepare: func(d draw, c *Case) {
		quietMeter(d, c)
		unpaced(c)
		c.softBath()
		c.parts(2 + d.IntN(11))
		c.add(virtual.Fault{ID: "contact-lost", At: d.inRamp(c, 12)})
	}, region: func(r Report) bool {
		return !r.OnsetLimited && rampedOn(r) && !youngRamp(r) && stands(r, sightOf(r).LeastLost())
	}}, runs: 4, found: 0.995, most: 2.5},
	{Injection: Injection{ID: "contact-lost-busy-machine", Code: fault.ContactLost, prepare: func(d draw, c *Case) {
		quietMeter(d, c)
		unpaced(c)
		c.softBath()
		c.busy(d)
		c.parts(2 + d.IntN(11))
		c.add(virtual.Fault{ID: "contact-lost", At: d.inRamp(c, 12)})
	}, region: func(r Report) bool {
		return !r.OnsetLimited && rampedOn(r) && !youngRamp(r) && stands(r, sightOf(r).LeastLost())
	}}, runs: 8, found: 0.995, most: 3},
	{Injection: Injection{ID: "contact-lost-young-ramp", Code: fault.ContactLost, prepare: func(d draw, c *Case) {
		quietMeter(d, c)
		unpaced(c)
		c.softBath()
		c.parts(2 + d.IntN(11))
		c.Request.Profile.Ramp = unit.VoltsPerSecond(d.between(1, 2))
		c.add(virtual.Fault{ID: "contact-lost", At: virtual.AtVolts(unit.Volts(d.between(12.6, 18)))})
	}, region: func(r Report) bool {
		return !r.OnsetLimited && rampedOn(r) && youngRamp(r) && stands(r, sightOf(r).LeastLost())
	}}, runs: 8, found: 0.65, most: 3},
	{Injection: Injection{ID: "contact-lost-limited", Code: fault.ContactLost, prepare: func(d draw, c *Case) {
		quietMeter(d, c)
		c.parts(2 + d.IntN(11))
		c.add(virtual.Fault{ID: "contact-lost", At: d.inRamp(c, 12)})
	}, region: func(r Report) bool {
		return r.OnsetLimited && rampedOn(r) && !youngRamp(r) && stands(r, sightOf(r).LeastLost())
	}}, runs: 8, found: 0.995, most: 3},
	{Injection: Injection{ID: "contact-lost-hold", Code: fault.ContactLost, prepare: func(d draw, c *Case) {
		quietMeter(d, c)
		c.parts(2 + d.IntN(11))
		c.add(virtual.Fault{ID: "contact-lost", At: virtual.AfterHold(unit.Seconds(d.between(3, 40)))})
	}, region: func(r Report) bool {
		return r.OnsetHeld > 8.5 && stands(r, sightOf(r).LeastLost())
	}}, runs: 4, found: 0.995, most: 1.2},
	{Injection: Injection{ID: "contact-lost-bend", Code: fault.ContactLost, prepare: func(d draw, c *Case) {
		quietMeter(d, c)
		c.parts(2 + d.IntN(11))
		c.add(virtual.Fault{ID: "contact-lost", At: virtual.AfterHold(unit.Seconds(d.between(1, bend)))})
	}, region: func(r Report) bool {
		return r.OnsetHeld >= 0 && r.OnsetHeld < bend && stands(r, sightOf(r).LeastLost())
	}}, runs: 8, found: 0.85, most: 2.5},
	{Injection: Injection{ID: "contact-lost-young-hold", Code: fault.ContactLost, prepare: func(d draw, c *Case) {
		quietMeter(d, c)
		c.parts(2 + d.IntN(11))
		c.add(virtual.Fault{ID: "contact-lost", At: virtual.AfterHold(unit.Seconds(d.between(3, 8.5)))})
	}, region: func(r Report) bool {
		return r.OnsetHeld >= bend && r.OnsetHeld < 8.5 && stands(r, sightOf(r).LeastLost())
	}}, runs: 4, found: 0.995, most: 2.5},
	{Injection: Injection{ID: "rack-lost", Code: fault.ContactLost, prepare: func(d draw, c *Case) {
		quietMeter(d, c)
		c.add(virtual.Fault{ID: "contact-lost", At: d.anywhere(c, 12), Part: virtual.AllParts})
	}, region: func(r Report) bool {
		return r.OnsetVolts > 12 && r.OnsetAmperes > 20*r.Case.Setup.Parameters.Meter.AmpereStep && r.Case.Tick < 150*time.Millisecond
	}}, runs: 8, found: 0.995, most: 0.6},
	{Injection: Injection{ID: "contact-intermittent", Code: fault.ContactIntermittent, Like: []fault.Code{fault.ContactLost}, prepare: func(d draw, c *Case) {
		quietMeter(d, c)
		unpaced(c)
		c.softBath()
		c.parts(2 + d.IntN(7))
		c.add(virtual.Fault{ID: "contact-lost", At: d.inRamp(c, 15), For: time.Duration(d.between(0.2, 0.5) * float64(time.Second))})
	}, region: func(r Report) bool {
		return !r.OnsetLimited && rampedOn(r) && caught(r) && stands(r, sightOf(r).LeastDip())
	}}, runs: 4, found: 0.995},
	{Injection: Injection{ID: "contact-chatter", Code: fault.ContactIntermittent, Like: []fault.Code{fault.ContactLost}, prepare: func(d draw, c *Case) {
		quietMeter(d, c)
		unpaced(c)
		cleanBath(c, 1000)
		c.parts(2 + d.IntN(7))
		c.add(virtual.Fault{ID: "contact-intermittent", At: d.inRamp(c, 15), For: 4 * time.Second})
	}, region: chatterSeen}, runs: 4, found: 0.995},
	{Injection: Injection{ID: "polarity-swapped", Code: fault.PolaritySwapped, Like: []fault.Code{fault.ForeignMetalWetted}, prepare: func(_ draw, c *Case) {
		c.add(virtual.Fault{ID: "polarity-swapped", Size: c.Setup.Parameters.Cell.BathOhms})
	}}, runs: 4, found: 1, judged: func(r Report) (bool, string) {
		return r.AtEnd.Volts < 8.1, "the trip came above 8 V"
	}},
	{Injection: Injection{ID: "foreign-metal", Code: fault.ForeignMetalWetted, Like: []fault.Code{fault.PolaritySwapped}, prepare: func(d draw, c *Case) {
		c.add(virtual.Fault{ID: "foreign-metal", Size: d.between(3, 10) / limitOf(c)})
	}, shows: limited, region: func(r Report) bool { return r.OnsetVolts < 15 && float64(r.Plan.TargetVolts) > 15 }}, runs: 4, found: 0.95},
	{Injection: Injection{ID: "resistor-at-start", Code: fault.ShortCircuit, prepare: func(d draw, c *Case) {
		c.add(virtual.Fault{ID: "short-circuit", Size: d.between(2, 10) / limitOf(c)})
	}, shows: limited, region: func(r Report) bool {
		return r.OnsetVolts < 12 && float64(r.Plan.TargetVolts) > 15 && crossingOf(r).Seen()
	}}, runs: 6, found: 0.995},
	{Injection: Injection{ID: "breakdown", Code: fault.Breakdown, prepare: func(d draw, c *Case) {
		quietMeter(d, c)
		c.add(virtual.Fault{ID: "breakdown", At: d.anywhere(c, 16)})
	}, region: func(r Report) bool { return r.OnsetVolts > 15.5 }}, runs: 4, found: 0.995, p99: 3, most: 6},
	{Injection: Injection{ID: "oxide-already-present", Code: fault.OxideAlreadyPresent, Like: []fault.Code{fault.NoContact}, prepare: func(d draw, c *Case) {
		quietMeter(d, c)
		volts := d.between(6, 60)
		c.Request.Profile.Target.Volts = unit.Volts(volts + d.between(10, 50))
		c.add(virtual.Fault{ID: "oxide-already-present", Size: volts})
	}}, runs: 4, found: 0.95},
	{Injection: Injection{ID: "mixed-rack", Code: fault.MixedRack, prepare: func(d draw, c *Case) {
		quietMeter(d, c)
		volts := d.between(12, 60)
		c.Request.Profile.Target.Volts = unit.Volts(math.Min(110, volts*1.5+d.between(5, 30)))
		c.parts(2 + d.IntN(7))
		c.add(virtual.Fault{ID: "mixed-rack", Size: volts})
	}, region: func(r Report) bool { return r.Result.Trip == nil && joinOf(r).Seen(float64(r.Plan.TargetVolts)) }}, runs: 4, found: 0.995},
	{Injection: Injection{ID: "leak", Code: fault.LeakPlateau, Like: []fault.Code{fault.FilmDissolving, fault.EndNotReached, fault.TargetNotReached, fault.AreaUnderstated}, prepare: func(d draw, c *Case) {
		quietMeter(d, c)
		c.add(virtual.Fault{ID: "leak", Size: c.target() / (d.decades(0.1, 1) * 1e-3 * areaOf(c))})
	}, region: floorSeen}, runs: 4, found: 0.95},
	{Injection: Injection{ID: "film-dissolving", Code: fault.FilmDissolving, Like: []fault.Code{fault.LeakPlateau, fault.EndNotReached, fault.AreaUnderstated}, prepare: func(d draw, c *Case) {
		quietMeter(d, c)
		c.add(virtual.Fault{ID: "film-dissolving", Size: d.between(0.1, 0.5)})
	}, region: heldLong}, runs: 4, found: 0.9},
	{Injection: Injection{ID: "area-overstated", Code: fault.AreaOverstated, Like: []fault.Code{fault.NotAnswered}, prepare: func(d draw, c *Case) { c.declare(1 / d.between(0.5, 0.75)) }}, runs: 4, found: 0.99},
	{Injection: Injection{ID: "area-understated", Code: fault.AreaUnderstated, prepare: func(d draw, c *Case) { c.declare(1 / d.between(1.33, 2)) }}, runs: 4, found: 0.99},
	{Injection: Injection{ID: "bath-resistance-high", Code: fault.BathResistanceHigh, prepare: func(d draw, c *Case) {
		quietMeter(d, c)
		c.add(virtual.Fault{ID: "bath-resistance", Size: d.between(2.5, 6) * believed(c) / seriesOf(c)})
	}, region: dropSeen}, runs: 4, found: 0.995},
	{Injection: Injection{ID: "bath-resistance-low", Code: fault.BathResistanceLow, prepare: func(d draw, c *Case) {
		quietMeter(d, c)
		c.add(virtual.Fault{ID: "bath-resistance", Size: d.between(0.1, 0.4) * believed(c) / seriesOf(c)})
	}, region: func(r Report) bool { return dropSeen(r) && stepSeen(r) }}, runs: 4, found: 0.995},
}
