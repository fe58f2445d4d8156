package campaign

import (
	"math"

	"anodized/controller/fault"
	"anodized/hal/unit"
	"anodized/hal/virtual"
)

var silentLike = []fault.Code{fault.SupplyOutOfStep, fault.SupplyDisobeys}

var bathInjections = []Injection{
	{ID: "bath-resistance-high", Code: fault.BathResistanceHigh, Like: []fault.Code{fault.MixedRack, fault.OxideAlreadyPresent}, prepare: func(d draw, c *Case) {
		c.add(virtual.Fault{ID: "bath-resistance", Size: d.between(2.5, 6) * believed(c) / seriesOf(c)})
	}, region: dropSeen},
	{ID: "bath-resistance-low", Code: fault.BathResistanceLow, prepare: func(d draw, c *Case) {
		c.add(virtual.Fault{ID: "bath-resistance", Size: d.between(0.1, 0.4) * believed(c) / seriesOf(c)})
	}, region: dropSeen},
	{ID: "bath-step", Code: fault.BathTemperatureDrift, Like: []fault.Code{fault.BathTemperatureOutside},
		prepare: func(d draw, c *Case) {
			c.add(virtual.Fault{ID: "bath-step", At: virtual.AfterOn(unit.Seconds(d.between(8, 20))), Size: d.between(1, 4)})
		}},
	{ID: "bath-outside", Code: fault.BathTemperatureOutside, prepare: func(d draw, c *Case) {
		c.Request.Bath.Temperature += unit.Celsius(d.between(1.3, 3))
	}},
	{ID: "thermometer-silent", Code: fault.BathTemperatureUnknown, prepare: at("thermometer-silent"),
		region: func(r Report) bool {
			return r.Result.EnergisedSeconds != nil && *r.Result.EnergisedSeconds-r.Onset > 72
		}},
	{ID: "current-offset", Code: fault.CurrentOffset, prepare: func(d draw, c *Case) {
		c.add(virtual.Fault{ID: "current-offset", Size: d.between(0.2, 0.45) * endOf(c)})
	}, region: offsetSeen},
}

var supplyInjections = []Injection{
	{ID: "setpoint-gain", Code: fault.OverVoltage, Like: []fault.Code{fault.SupplyTripped}, prepare: sized("setpoint-gain", 1.03, 1.2),
		shows: func(t *virtual.Truth) bool { return t.Volts > t.HeldVolts+math.Max(0.5, 0.01*t.HeldVolts) }},
	{ID: "supply-droop", Code: fault.SupplyDroop, Like: []fault.Code{fault.SupplyNotFollowing, fault.ContactLost},
		prepare: sized("supply-droop", 0.4, 0.9)},
	{ID: "setpoint-not-followed", Code: fault.SupplyNotFollowing, Like: []fault.Code{fault.ReadbackStuck, fault.SupplyDroop, fault.OverVoltage},
		prepare: func(d draw, c *Case) {
			c.add(virtual.Fault{ID: "setpoint-not-followed", At: d.inRamp(c, 2)})
		}, region: func(r Report) bool { return roomToEnd(r, 4) }},
	{ID: "setpoint-ignored", Code: fault.SupplyDisobeys, Like: []fault.Code{fault.SupplyTouched, fault.SupplyNotFollowing},
		prepare: func(d draw, c *Case) { c.add(virtual.Fault{ID: "setpoint-ignored", At: d.inRamp(c, 2)}) }},
	{ID: "panel-touched", Code: fault.SupplyTouched, Like: []fault.Code{fault.SupplyDisobeys, fault.OverVoltage}, prepare: at("panel-touched")},
	{ID: "supply-tripped", Code: fault.SupplyTripped, prepare: at("supply-tripped")},
	{ID: "supply-restarted", Code: fault.SupplyRestarted, Like: []fault.Code{fault.SupplyTouched}, prepare: at("supply-restarted")},
	{ID: "supply-silent", Code: fault.SupplySilent, Like: silentLike, prepare: at("supply-silent")},
	{ID: "supply-unplugged", Code: fault.SupplySilent, Like: silentLike, prepare: at("supply-unplugged")},
	{ID: "no-reading", Code: fault.SupplySilent, Like: silentLike, prepare: at("no-reading")},
	{ID: "readback-stuck", Code: fault.ReadbackStuck, Like: []fault.Code{fault.SupplyNotFollowing},
		prepare: func(d draw, c *Case) { c.add(virtual.Fault{ID: "readback-stuck", At: d.inRamp(c, 2)}) },
		region:  func(r Report) bool { return roomToEnd(r, 4) && r.OnsetAmperes < 0.85*float64(r.Plan.CurrentLimit) }},
}

var chainInjections = []Injection{
	{ID: "interlock-open", Code: fault.InterlockOpen, prepare: at("interlock-open")},
	{ID: "interlock-disagrees", Code: fault.InterlockOpen, Like: []fault.Code{fault.InterlockDisagrees}, prepare: at("interlock-disagrees")},
	{ID: "interlock-gone", Code: fault.InterlockOpen, prepare: at("interlock-gone")},
	{ID: "output-stuck-on", Code: fault.OutputStuckOn, prepare: at("output-stuck-on"),
		shows: func(t *virtual.Truth) bool { return t.Powered && !t.Output }},
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

// offsetSeen: it is above two steps of the reading.
func offsetSeen(r Report) bool {
	return r.Case.Setup.Faults[0].Size > 2.5*r.Case.Setup.Parameters.Meter.AmpereStep
}

// believed is the series resistance that the plan expects; a bath's is stated for 200 cm².
func believed(c *Case) float64 { return float64(c.Request.Bath.Series) * 200 / areaOf(c) }
