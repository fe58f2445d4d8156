package campaign

import (
	"math"
	"time"

	"anodized/controller/fault"
	"anodized/hal/virtual"
)

// contactInjections are what can be wrong with parts, hooks and leads.
var contactInjections = []Injection{
	{ID: "no-contact", Code: fault.NoContact, prepare: atStart("no-contact"), shows: atCheck, Bound: 2.5},
	{ID: "contact-lost", Code: fault.ContactLost, Like: []fault.Code{
		fault.NotAnswered}, // in the contact check a part that is lost is one that is missing, which is asked about
		Bound: 1.2,
		prepare: func(d draw, c *Case) {
			c.parts(2 + d.IntN(11))
			d.underPower(c, 12, virtual.Fault{ID: "contact-lost"})
		}, region: partSeen},
	{ID: "rack-lost", Row: "contact-lost", Code: fault.ContactLost, Like: []fault.Code{
		fault.NoContact}, // what is lost in the contact check has no contact at its end
		Bound: 0.3,
		prepare: func(d draw, c *Case) {
			d.underPower(c, 12, virtual.Fault{ID: "contact-lost", Part: virtual.AllParts})
		}, region: rackSeen},
	{ID: "contact-intermittent", Code: fault.ContactIntermittent, Like: []fault.Code{fault.ContactLost, fault.Breakdown},
		prepare: func(d draw, c *Case) {
			c.parts(1 + d.IntN(8))
			c.add(virtual.Fault{ID: "contact-intermittent", At: d.inRamp(c, 15), For: 4 * time.Second})
		}, region: chatterSeen},
	{ID: "part-missing", Code: fault.PartMissing, Like: []fault.Code{fault.AreaOverstated, fault.NotAnswered, fault.NoContact, fault.MixedRack,
		fault.ShortCircuit, fault.Breakdown}, // a bare part that hangs after all takes what the limit gives
		prepare: func(d draw, c *Case) {
			c.parts(2 + d.IntN(23))
			c.add(virtual.Fault{ID: "part-missing"})
		}, region: never},
	{ID: "short-circuit", Code: fault.ShortCircuit, Like: []fault.Code{fault.ForeignMetalWetted}, Bound: 0.6,
		prepare: func(d draw, c *Case) {
			// of the rack: a hundredth to a tenth of what its ramp would take at 10 V
			d.inAnyState(c, virtual.Fault{ID: "short-circuit", Size: d.between(0.01, 0.1) * 10 / limitOf(c)})
		}, region: func(r Report) bool { return r.OnsetVolts > 5 }},
}

// filmInjections are what the parts carry or the bath does to them.
var filmInjections = []Injection{
	{ID: "polarity-swapped", Code: fault.PolaritySwapped, Like: []fault.Code{fault.ForeignMetalWetted, fault.ShortCircuit},
		prepare: func(_ draw, c *Case) {
			c.add(virtual.Fault{ID: "polarity-swapped", Size: c.Setup.Parameters.Cell.BathOhms})
		}, shows: limited},
	{ID: "foreign-metal", Row: "foreign-metal-wetted", Code: fault.ForeignMetalWetted, Like: []fault.Code{fault.ShortCircuit, fault.PolaritySwapped},
		prepare: func(d draw, c *Case) {
			// at the limit it would stand at 4 to 12 V
			c.add(virtual.Fault{ID: "foreign-metal", Size: d.between(3, 10) / limitOf(c)})
		}, region: func(r Report) bool { return float64(r.Plan.TargetVolts) > 15 }, shows: takesAll, Bound: 5},
	{ID: "foreign-metal-later", Row: "foreign-metal-wetted", Code: fault.ForeignMetalWetted, Like: []fault.Code{fault.ShortCircuit, fault.Breakdown,
		fault.PolaritySwapped}, // in the contact check it takes the current of all, as plates do
		prepare: func(d draw, c *Case) {
			d.underPower(c, 12, virtual.Fault{ID: "foreign-metal", Size: d.between(3, 10) / limitOf(c)})
		}, region: takesTheLimit, Bound: 5},
	{ID: "breakdown", Code: fault.Breakdown, Like: []fault.Code{fault.ContactIntermittent, fault.ShortCircuit, fault.SupplyNotFollowing, fault.ForeignMetalWetted},
		prepare: func(d draw, c *Case) {
			c.Request.Profile.Target.Volts = max(c.Request.Profile.Target.Volts, 25) // below 15 V no film breaks down
			d.underPower(c, 16, virtual.Fault{ID: "breakdown"})
		}, region: func(r Report) bool { return r.OnsetVolts > 15.5 && fineMeter(r) && r.wentOn(3) }, Bound: 3},
	{ID: "oxide-already-present", Code: fault.OxideAlreadyPresent, Like: []fault.Code{fault.NoContact},
		prepare: func(d draw, c *Case) {
			c.add(virtual.Fault{ID: "oxide-already-present", Size: d.between(6, 60)})
		}, region: func(r Report) bool { return r.fault().Size > 8 }}, // what is judged is 7 V, and a native film reads up to 6.4 V
	{ID: "mixed-rack", Code: fault.MixedRack, Like: []fault.Code{fault.AreaUnderstated, fault.AreaOverstated, fault.NotAnswered,
		fault.NoContact}, // where another fault hangs one part only, and that one is coated
		prepare: func(d draw, c *Case) {
			c.parts(2 + d.IntN(7))
			c.add(virtual.Fault{ID: "mixed-rack", Size: d.between(12, 60)})
		}, region: joinSeen},
	{ID: "leak", Row: "leak-plateau", Code: fault.LeakPlateau, Like: []fault.Code{fault.FilmDissolving, fault.EndNotReached, fault.TargetNotReached, fault.AreaUnderstated, fault.ReadbackStuck,
		fault.ForeignMetalWetted, // where the limit goes through it, as through metal in the bath
		fault.Breakdown},         // possible: volts that stand at the limit, and the second point of a leak beside a growing film
		prepare: func(d draw, c *Case) {
			// at target it takes 0.03 to 1 mA/cm2
			c.add(virtual.Fault{ID: "leak", Size: c.target() / (d.decades(0.03, 1) * 1e-3 * areaOf(c))})
		}, region: floorSeen},
	{ID: "film-dissolving", Code: fault.FilmDissolving, Like: []fault.Code{fault.LeakPlateau, fault.EndNotReached, fault.AreaUnderstated, fault.TargetNotReached,
		fault.ReadbackStuck,                                                  // a current that has come to its floor stands on one step of a coarse meter
		fault.ShortCircuit, fault.ForeignMetalWetted, fault.PolaritySwapped}, // a film that goes as fast as the limit lets it grow holds the volts down
		prepare: func(d draw, c *Case) {
			c.add(virtual.Fault{ID: "film-dissolving", Size: d.between(0.02, 0.3)})
		}, region: func(r Report) bool { return heldLong(r) && r.fault().Size > 0.1 }},
	{ID: "area-overstated", Code: fault.AreaOverstated, Like: []fault.Code{fault.NotAnswered},
		prepare: func(d draw, c *Case) { c.declare(1 / d.between(0.45, 0.95)) },
		region:  func(r Report) bool { return areaSeen(r) && trueShare(r) <= 0.75 }},
	{ID: "area-understated", Code: fault.AreaUnderstated,
		prepare: func(d draw, c *Case) { c.declare(1 / d.between(1.05, 2)) },
		region:  func(r Report) bool { return areaSeen(r) && trueShare(r) >= 1.33 }},
}

// areaSeen: below some 15 V the film's own volts are too few beside those of native film,
// leads and bath for a line through what grew.
func areaSeen(r Report) bool { return r.Plan.TargetVolts > 15 }

// never is the region of a fault that is not seen by this station: the share is told, and
// nothing is asked.
func never(Report) bool { return false }

// fineMeter tells whether the meter shows the ramp's current in steps that are fine enough.
func fineMeter(r Report) bool {
	m := r.Case.Setup.Parameters.Meter
	amperes := math.Max(r.OnsetAmperes, float64(r.Plan.Expected.RampCurrent))
	return m.GasNoise <= 0.004 && m.AmpereStep < 0.01*amperes && m.AmpereNoise < 0.003*amperes
}

func heldLong(r Report) bool { return r.Result.HoldSeconds != nil && *r.Result.HoldSeconds > 35 }

// limited is when a fault shows that holds the supply at its current limit.
func limited(t *virtual.Truth) bool { return t.Limited }

// takesAll is when what grows no film takes four fifths of the current limit: until then the
// film beside it grows, and the volts with it, as on a larger area. At an efficiency of 0.6
// to 1 that is about the tenth of the believed growth below which volts stand.
func takesAll(t *virtual.Truth) bool { return t.Limited && t.BesideAmperes > 0.8*t.Limit }

// gasVolts are what the plant's metal takes to make gas, V.
const gasVolts = 1.8

// takesTheLimit: behind bath and leads the volts of the target drive the whole limit through
// the metal. Where they do not, its current is one that does not die away.
func takesTheLimit(r Report) bool {
	ohms := r.fault().Size + seriesOf(&r.Case)
	return gasVolts+ohms*float64(r.Plan.CurrentLimit) < float64(r.Plan.TargetVolts)
}

// atCheck is when the contact check is at its volts, as good as.
func atCheck(t *virtual.Truth) bool { return t.HeldVolts >= 7.99 || t.Volts >= 7.9 }

// holdSteps are the steps of the reading that a fall in a hold must be worth: one and a
// half is what is judged by, and the means before and after it are each half a step off,
// since a current that hardly moves stays on one step for seconds.
const holdSteps = 2.5

// holdSigmas are the scatters of one reading that it must be worth: five are judged by, and
// leads and bath soften the fall.
const holdSigmas = 6

// partSeen is the region that is answered for: one of eight parts or fewer, or of six at
// the current limit, whose share stands out of the noise and of the steps of the reading;
// a ramp that has been even for a dozen seconds, or a hold of ten.
func partSeen(r Report) bool {
	share := r.OnsetAmperes / float64(r.Plan.Parts)
	m := r.Case.Setup.Parameters.Meter
	sigma := m.AmpereNoise + m.AmpereStep/3 + m.GasNoise*r.OnsetAmperes
	most, settled := 8, r.OnsetHeld > 10 || r.OnsetVolts > 8+12*float64(r.Plan.Ramp)
	if r.OnsetLimited {
		most = 6
	}
	if r.OnsetHeld >= 0 && (share < holdSteps*m.AmpereStep || share < holdSigmas*sigma) {
		return false
	}
	return r.Plan.Parts > 1 && r.Plan.Parts <= most && settled && stands(r, sightOf(r).LeastLost()) && r.OnsetVolts > 12.5 && share > 4*sigma && m.GasNoise <= 0.004 && (r.OnsetHeld < 0 || r.OnsetHeld > 10) && roomToEnd(r, 3) &&
		(!r.OnsetLimited || m.VoltStep <= 0.02)
}

func rackSeen(r Report) bool {
	return r.OnsetVolts > 12.5 && r.OnsetAmperes > 20*r.Case.Setup.Parameters.Meter.AmpereStep
}

// roomToEnd tells whether the ramp went on for some seconds after the fault.
func roomToEnd(r Report, seconds float64) bool {
	return r.OnsetHeld >= 0 || float64(r.Plan.TargetVolts)-r.OnsetVolts > seconds*float64(r.Plan.Ramp)
}

// chatterSeen: of ten dips of 0.2 s on average any one that a reading falls into stands out of
// noise and steps by itself; readings every 0.2 s do not surely fall into one.
func chatterSeen(r Report) bool {
	return r.OnsetVolts > 15 && roomToEnd(r, 4) && r.Case.Tick < 150*time.Millisecond && stands(r, sightOf(r).LeastDip())
}

// joinSeen: the levels of the ramp before and after are seen.
func joinSeen(r Report) bool { return joinOf(r).Seen(float64(r.Plan.TargetVolts)) }

// floorSeen: what does not die away is a third more than what is judged, and the hold was long.
func floorSeen(r Report) bool {
	return heldLong(r) && r.AtEnd.BesideAmperes > 0.12e-3*float64(r.Plan.Area)
}
