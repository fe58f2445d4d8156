package campaign

import (
	"math"
	"time"

	"anodized/controller/fault"
	"anodized/controller/film"
	"anodized/controller/process"
	"anodized/hal/unit"
	"anodized/hal/virtual"
)

// bathInjections are what can be wrong with the bath and what reads it.
var bathInjections = []Injection{
	{ID: "bath-resistance-high", Code: fault.BathResistanceHigh, Like: []fault.Code{fault.MixedRack, fault.OxideAlreadyPresent}, prepare: func(d draw, c *Case) {
		c.add(virtual.Fault{ID: "bath-resistance", Size: d.between(1.5, 6) * believed(c) / seriesOf(c)})
	}, region: func(r Report) bool {
		return dropSeen(r) && r.fault().Size*seriesOf(&r.Case) > 2.5*float64(r.Plan.Law.Series)
	}},
	{ID: "bath-resistance-low", Code: fault.BathResistanceLow, prepare: func(d draw, c *Case) {
		c.add(virtual.Fault{ID: "bath-resistance", Size: d.between(0.2, 0.6) * believed(c) / seriesOf(c)})
	}, region: func(r Report) bool {
		return dropSeen(r) && stepSeen(r) && r.fault().Size*seriesOf(&r.Case) < 0.4*float64(r.Plan.Law.Series)
	}},
	{ID: "bath-temperature-drift", Code: fault.BathTemperatureDrift, Like: []fault.Code{fault.BathTemperatureOutside,
		fault.ContactLost}, // a bath that is colder from one moment to the next draws less at once: 2 K are a sixth of the current
		prepare: func(d draw, c *Case) {
			c.add(virtual.Fault{ID: "bath-step", At: virtual.AfterOn(unit.Seconds(d.between(8, 20))), Size: plusMinus(d) * d.between(0.3, 4)})
		}, region: func(r Report) bool { return math.Abs(r.fault().Size) > 0.8 && r.after() > 5 }},
	{ID: "bath-temperature-outside", Code: fault.BathTemperatureOutside, prepare: func(d draw, c *Case) {
		c.Request.Bath.Temperature += unit.Celsius(plusMinus(d) * d.between(0.7, 7))
	}, region: func(r Report) bool {
		return math.Abs(r.Case.Setup.Parameters.Bath.Celsius-float64(r.Plan.BathWindow.Law)) > 1.3
	}},
	{ID: "thermometer-silent", Row: "thermometer", Code: fault.BathTemperatureUnknown, Like: []fault.Code{fault.BathTemperatureDrift}, prepare: at("thermometer-silent"),
		region: func(r Report) bool { return r.after() > 72 }, Bound: 72},
	{ID: "thermometer-stuck", Row: "thermometer", Code: fault.BathTemperatureUnknown, Like: []fault.Code{fault.BathTemperatureDrift},
		prepare: func(d draw, c *Case) {
			d.inAnyState(c, virtual.Fault{ID: "thermometer-stuck", Size: pick(d, 85, 127.94, -127, 0.0001)})
		}, region: func(r Report) bool { return r.after() > 72 }, Bound: 72},
	{ID: "current-offset", Code: fault.CurrentOffset, prepare: func(d draw, c *Case) {
		c.add(virtual.Fault{ID: "current-offset", Size: plusMinus(d) * d.between(0.1, 1) * endOf(c)})
	}, region: offsetSeen},
}

// outputInjections are what can be wrong with the power of the supply.
var outputInjections = []Injection{
	{ID: "supply-droop", Code: fault.SupplyDroop, Like: []fault.Code{fault.SupplyNotFollowing, fault.ContactLost, fault.SupplyDisobeys, fault.NoContact},
		prepare: func(d draw, c *Case) {
			d.inAnyState(c, virtual.Fault{ID: "supply-droop", Size: pick(d, 0.4, 0.7, 0.8, d.between(0.4, 0.99)), For: tenths(1 + d.IntN(40))})
		}, region: func(r Report) bool {
			f := r.fault()
			return f.Size < 0.97 && r.OnsetVolts > 15 && f.For > 400*time.Millisecond && r.wentOn(0.6) && !r.OnsetLimited
		}, Bound: 1},
	{ID: "mains-dip", Row: "supply-droop", Code: fault.SupplyDroop, Like: []fault.Code{fault.SupplyNotFollowing, fault.ContactLost, fault.SupplyDisobeys, fault.NoContact,
		fault.ReadbackStuck}, // of a supply that gives nothing from the start on 0 V and 0 A stand
		prepare: func(d draw, c *Case) {
			d.inAnyState(c, virtual.Fault{ID: "mains-dip", For: time.Duration(pick(d, 0.01, 0.02, 0.5, 5) * float64(time.Second))})
		}, region: func(r Report) bool {
			return r.OnsetVolts > 5 && r.fault().For > 400*time.Millisecond && r.wentOn(0.6)
		}, Bound: 1},
	{ID: "setpoint-not-followed", Row: "setpoint-not-taken", Code: fault.SupplyNotFollowing, Like: []fault.Code{fault.ReadbackStuck, fault.SupplyDroop, fault.OverVoltage,
		fault.ContactLost}, // which names a supply that drooped: in a slow ramp the current dies away before the volts are far behind
		prepare: func(d draw, c *Case) {
			c.add(virtual.Fault{ID: "setpoint-not-followed", At: d.inRamp(c, 2)})
		}, region: func(r Report) bool { return roomToEnd(r, 4) }, Bound: 5},
	{ID: "output-stuck-on", Row: "off-not-obeyed", Code: fault.OutputStuckOn, prepare: at("output-stuck-on"), anyTime: true,
		shows: func(t *virtual.Truth) bool { return t.Powered && !t.Output }, Bound: 2.5},
	{ID: "off-ignored", Row: "off-not-obeyed", Code: fault.OutputStuckOn, Like: []fault.Code{fault.SupplyDisobeys}, prepare: at("off-ignored")},
}

// readbackInjections are what can be wrong with the supply's own meter.
var readbackInjections = []Injection{
	{ID: "readback-stuck", Code: fault.ReadbackStuck, Like: stuckLike,
		prepare: func(d draw, c *Case) { c.add(virtual.Fault{ID: "readback-stuck", At: d.inRamp(c, 2)}) }, region: stuckSeen, Bound: 4},
	{ID: "readback-volts-stuck", Row: "readback-stuck", Code: fault.ReadbackStuck, Like: stuckLike,
		prepare: func(d draw, c *Case) { c.add(virtual.Fault{ID: "readback-volts-stuck", At: d.inRamp(c, 2)}) }, region: stuckSeen, Bound: 4},
	{ID: "readback-amperes-stuck", Row: "readback-stuck", Code: fault.ReadbackStuck, Like: append(stuckLike, fault.EndNotReached, fault.LeakPlateau, fault.FilmDissolving, fault.AreaUnderstated, fault.AreaOverstated, fault.BathResistanceHigh,
		fault.NotAnswered, // the question that an area which seems overstated asks
		fault.NoContact),  // a reading that stands near zero in the contact check is that of a rack without contact
		prepare: func(d draw, c *Case) { d.underPower(c, 2, virtual.Fault{ID: "readback-amperes-stuck"}) },
		region:  func(r Report) bool { return r.after() > 30 }},
	{ID: "no-reading", Row: "absurd-reading", Code: fault.SupplySilent, Like: silentLike, prepare: at("no-reading"), Bound: 1.3},
}

var (
	silentLike = []fault.Code{fault.SupplyOutOfStep, fault.SupplyDisobeys, fault.ControlAbsent}
	// readings that stand at the limit are those of volts that something holds down
	stuckLike = []fault.Code{fault.SupplyNotFollowing, fault.SupplyDroop, fault.OverVoltage, fault.Breakdown, fault.ContactLost,
		fault.ShortCircuit, fault.ForeignMetalWetted, fault.OutputStuckOn} // and after off, of an output that stays on
)

func tenths(n int) time.Duration { return time.Duration(n) * 100 * time.Millisecond }

func pick[T any](d draw, all ...T) T { return all[d.IntN(len(all))] }

func stuckSeen(r Report) bool {
	return roomToEnd(r, 4) && r.OnsetAmperes < 0.85*float64(r.Plan.CurrentLimit)
}

func seriesOf(c *Case) float64 {
	return c.Setup.Parameters.Cell.LeadOhms + c.Setup.Parameters.Cell.BathOhms
}

func endOf(c *Case) float64 {
	return float64(c.Request.Profile.End.CurrentDensity) * 1e-3 * areaOf(c)
}

// dropSeen: the series resistance takes some tenths of a volt in the ramp.
func dropSeen(r Report) bool {
	seen := float64(r.Plan.Law.Series) * float64(r.Plan.Expected.RampCurrent)
	return seen > 1 && float64(r.Plan.TargetVolts) > 30
}

// stepSeen: contact check and ramp draw currents whose difference is worth half a volt over
// what is believed of leads and bath. At one and the same current a resistance is no other
// thing than the film that was there before.
func stepSeen(r Report) bool {
	p := &r.Plan
	law := film.New(p.Law.I0, p.Law.B, p.Law.KF, p.Law.Efficiency)
	draws := func(ramp unit.VoltsPerSecond) float64 {
		return float64(min(law.SteadyRamp(ramp).Density.At(p.Area), p.CurrentLimit))
	}
	return float64(p.Law.Series)*math.Abs(draws(p.Ramp)-draws(p.ContactCheck.Ramp)) > 0.5
}

// offsetSeen: it is above two steps of the reading.
func offsetSeen(r Report) bool {
	size := math.Abs(r.fault().Size)
	return size > 2.5*r.Case.Setup.Parameters.Meter.AmpereStep && size > 0.15*float64(r.Plan.End.Current)
}

// believed is the series resistance that the plan expects; a bath's is stated for 200 cm².
func believed(c *Case) float64 { return float64(c.Request.Bath.Series) * 200 / areaOf(c) }

// knows lets the shop know the resistance of its bath, about as well as a shop does: a
// fourth off either way.
func (c *Case) knows(d draw) {
	c.Request.Bath.Series = unit.Ohms(seriesOf(c) * areaOf(c) / 200 * d.between(0.8, 1.25))
}

// stalls are ticks that stand still.
func stalls(d draw, c *Case) {
	l := d.anyState(c)
	if l.State == process.Discharging.String() {
		l.State = process.Holding.String()
	}
	l.Stall = time.Duration(d.decades(0.1, 10) * float64(time.Second))
	c.later(l)
}
