package campaign

import (
	"time"

	"anodized/controller/fault"
	"anodized/hal/virtual"
)

// linkInjections are what can be wrong between the computer and the supply.
var linkInjections = []Injection{
	{ID: "supply-silent", Row: "supply-unplugged", Code: fault.SupplySilent, Like: silentLike, prepare: at("supply-silent"), Bound: 1.3},
	{ID: "supply-unplugged", Code: fault.SupplySilent, Like: silentLike, prepare: at("supply-unplugged"), Bound: 1.3},
	{ID: "late-reply", Code: fault.SupplySilent, Like: append(silentLike, fault.RecordGap), prepare: func(d draw, c *Case) {
		d.inAnyState(c, virtual.Fault{ID: "late-reply", Size: d.between(0.1, 2), For: tenths(1 + d.IntN(30))})
	}, region: func(r Report) bool { return r.fault().For.Seconds() > 1.4 }, Bound: 1.3},
	spoilt("garbage"), spoilt("cut-reply"), spoilt("doubled-reply"), spoilt("merged-reply"),
	{ID: "instrument-error", Row: "error-queue", Code: fault.SupplyDisobeys, Like: []fault.Code{fault.SupplyTripped}, prepare: func(d draw, c *Case) {
		d.inAnyState(c, virtual.Fault{ID: "instrument-error", Size: pick(d, -222.0, -113, -350, -310)})
	}, region: func(r Report) bool { return r.wentOn(1.4) }, Bound: 1.3},
}

// spoiltSeen is how long answers must be spoilt, and the load go on, until the link is given up, s.
const spoiltSeen = 1.4

// spoilt is a sort of answer that cannot be taken.
func spoilt(id string) Injection {
	return Injection{ID: id, Row: "garbage", Code: fault.SupplyOutOfStep, Like: []fault.Code{fault.SupplySilent, fault.RecordGap, fault.SupplyDisobeys},
		prepare: func(d draw, c *Case) {
			d.inAnyState(c, virtual.Fault{ID: id, For: tenths(1 + d.IntN(30))})
		}, region: func(r Report) bool { return r.fault().For.Seconds() > spoiltSeen && r.wentOn(spoiltSeen) }, Bound: 1.3}
}

// panelInjections are what the supply does with what it is told, and what a hand does at it.
var panelInjections = []Injection{
	{ID: "setpoint-ignored", Row: "setpoint-not-taken", Code: fault.SupplyDisobeys, Like: []fault.Code{fault.SupplyTouched, fault.SupplyNotFollowing},
		prepare: func(d draw, c *Case) { c.add(virtual.Fault{ID: "setpoint-ignored", At: d.inRamp(c, 2)}) },
		region:  func(r Report) bool { return roomToEnd(r, 1) }, Bound: 0.6},
	{ID: "setpoint-clamped", Row: "setpoint-not-taken", Code: fault.SupplyDisobeys, Like: []fault.Code{fault.SupplyTouched, fault.SupplyNotFollowing},
		prepare: func(d draw, c *Case) {
			c.add(virtual.Fault{ID: "setpoint-clamped", Size: d.between(2, 0.9*c.target())})
		}},
	{ID: "panel-touched", Code: fault.SupplyTouched, Like: []fault.Code{fault.SupplyDisobeys, fault.OverVoltage, fault.SupplyDroop,
		fault.SupplyNotFollowing, // volts turned down stay below the setpoint until that is read back
		fault.SupplyTripped},     // volts turned above the supply's own protection end in the protection before the setpoint is read back
		prepare: func(d draw, c *Case) {
			d.inAnyState(c, virtual.Fault{ID: "panel-touched", Size: plusMinus(d) * d.between(0.3, 3)})
		}, region: func(r Report) bool { return r.OnsetVolts > 4 && r.wentOn(1.3) }, Bound: 1.3},
	{ID: "output-touched", Row: "panel-touched", Code: fault.SupplyTouched, Like: []fault.Code{fault.SupplyDisobeys, fault.SupplyDroop, fault.SupplyNotFollowing, fault.NoContact},
		prepare: at("output-touched"), region: func(r Report) bool { return r.wentOn(1.3) }, Bound: 1.3},
	{ID: "supply-tripped", Code: fault.SupplyTripped, prepare: at("supply-tripped"), Bound: 1.3},
	{ID: "supply-restarted", Code: fault.SupplyRestarted, Like: []fault.Code{fault.SupplyTouched}, prepare: at("supply-restarted"), Bound: 1.3},
}

// chainInjections are the lid, the emergency stop and the contactor.
var chainInjections = []Injection{
	{ID: "interlock-open", Code: fault.InterlockOpen, prepare: at("interlock-open"), Bound: 0.6},
	{ID: "interlock-bounce", Code: fault.InterlockOpen, prepare: func(d draw, c *Case) {
		d.inAnyState(c, virtual.Fault{ID: "interlock-bounce", For: time.Duration(d.decades(0.1, 100) * float64(time.Millisecond))})
	}},
	{ID: "interlock-disagrees", Code: fault.InterlockOpen, Like: []fault.Code{fault.InterlockDisagrees}, prepare: func(d draw, c *Case) {
		d.inAnyState(c, virtual.Fault{ID: "interlock-disagrees", Part: 1 + d.IntN(2)})
	}, Bound: 0.6},
	{ID: "interlock-gone", Code: fault.InterlockOpen, prepare: at("interlock-gone"), Bound: 0.85},
	{ID: "interlock-stuck-closed", Code: fault.InterlockDisagrees, prepare: func(d draw, c *Case) {
		c.add(virtual.Fault{ID: "interlock-stuck-closed", Part: 1 + d.IntN(2)})
	}, anyTime: true},
	chained(Injection{ID: "emergency-stop", Code: fault.EmergencyStop, prepare: at("emergency-stop"), Bound: 0.6}),
	chained(Injection{ID: "emergency-stop-gone", Row: "emergency-stop", Code: fault.EmergencyStop, prepare: at("emergency-stop-gone"), Bound: 0.85}),
	chained(Injection{ID: "emergency-stop-one-contact", Row: "emergency-stop", Code: fault.EmergencyStop, prepare: at("emergency-stop-one-contact"), Bound: 0.6}),
	chained(Injection{ID: "contactor-welded", Row: "contactor", Code: fault.ContactorStuck, prepare: at("contactor-welded"), anyTime: true,
		shows: func(t *virtual.Truth) bool { return t.ContactorClosed && !t.Output }, Bound: 2}),
	chained(Injection{ID: "contactor-stuck-open", Row: "contactor", Code: fault.ContactorStuck, prepare: atStart("contactor-stuck-open"), anyTime: true}),
	chained(Injection{ID: "contactor-gone", Row: "contactor", Code: fault.ContactorStuck, Like: []fault.Code{fault.ControlAbsent, fault.EmergencyStop},
		prepare: at("contactor-gone"), Bound: 1.5}),
}

// chained gives the bench a contactor and an emergency stop.
func chained(in Injection) Injection {
	prepare := in.prepare
	in.prepare = func(d draw, c *Case) {
		c.Setup.Chain = true
		prepare(d, c)
	}
	return in
}

// noRecord is what the storage does not take.
type noRecord uint8

const (
	recordTaken noRecord = iota
	recordBegin
	recordFinish
)

// computerInjections are what can be wrong with the computer.
var computerInjections = []Injection{
	{ID: "late-tick", Row: "tick-overrun", Code: fault.ControlAbsent, Like: []fault.Code{fault.RecordGap, fault.TickLate, fault.SupplySilent, fault.InterlockOpen, fault.EmergencyStop},
		prepare: stalls, region: func(r Report) bool { return r.Case.Late[0].Stall.Seconds() > 1.1 }},
	{ID: "disk-full-before", Row: "disk-full", prepare: func(_ draw, c *Case) { c.NoRecord = recordBegin }, anyTime: true},
	{ID: "disk-full-after", Row: "disk-full", Code: fault.JournalUnwritable, prepare: func(_ draw, c *Case) { c.NoRecord = recordFinish }},
	{ID: "clock-step", Code: fault.ClockStepped, prepare: func(d draw, c *Case) {
		l := d.anyState(c)
		l.Clock = time.Duration(plusMinus(d) * d.decades(0.1, 3e8) * float64(time.Second))
		c.later(l)
	}, region: never},
}
