package watch_test

import (
	"testing"

	"anodized/controller/fault"
	"anodized/controller/plan"
	"anodized/controller/watch"
	"anodized/hal/unit"

	"github.com/stretchr/testify/assert"
)

// midway between the ends of what a profile may set: a load that is told at the one and not at the
// other.
var midway = map[string]func(t *testing.T, p plan.Plan) bool{
	"lost share": func(_ *testing.T, p plan.Plan) bool {
		p.SmallestPart = 1 // half of the smallest part counts as well
		return tripped(p, bench, lastDigit, between(40, 150, 0.94)) == fault.ContactLost
	},
	"dip share": func(_ *testing.T, p plan.Plan) bool {
		return tripped(p, bench, stepShows, between(40, 40.3, 0.97), between(43, 43.3, 0.97), between(46, 46.3, 0.97)) == fault.ContactIntermittent
	},
	"dips": func(_ *testing.T, p plan.Plan) bool {
		return tripped(p, bench, lastDigit, between(40, 40.3, 0.88), between(43, 43.3, 0.88), between(46, 46.3, 0.88)) == fault.ContactIntermittent
	},
	"missing scatter": func(t *testing.T, p plan.Plan) bool {
		p.SmallestPart, p.History = 1, past(p, 5, 0)
		w, _ := hung(p, 0.9)
		return has(w, fault.PartMissing)
	},
	"least area": func(t *testing.T, p plan.Plan) bool { return is(t, p, drawing(0.8), fault.AreaOverstated) },
	"most area":  func(t *testing.T, p plan.Plan) bool { return is(t, p, drawing(1.2), fault.AreaUnderstated) },
	"onset":      func(t *testing.T, p plan.Plan) bool { return is(t, p, covered(9), fault.OxideAlreadyPresent) },
	"join share": func(t *testing.T, p plan.Plan) bool {
		p.SmallestPart = 1
		return is(t, p, joining(0.1), fault.MixedRack)
	},
	"floor": func(_ *testing.T, p plan.Plan) bool {
		w := of(p, bench, func(_ int, k *watch.Tick) { k.Limit, k.Amperes = 10, k.Amperes+0.035 })
		w.Close(true, false)
		return has(w, fault.FilmDissolving)
	},
	"rise":         func(_ *testing.T, p plan.Plan) bool { return tripped(p, bench, climbing(1.6)) == fault.Breakdown },
	"most series":  func(t *testing.T, p plan.Plan) bool { return resists(t, p, 2.5, fault.BathResistanceHigh) },
	"least series": func(t *testing.T, p plan.Plan) bool { return resists(t, p, 0.4, fault.BathResistanceLow) },
	"bath away": func(_ *testing.T, p plan.Plan) bool {
		p.BathWindow.Law, p.BathWindow.Least, p.BathWindow.Most = 20, 10, 30
		return finds(p, fault.BathTemperatureOutside, warmed(func(float64) float64 { return 22 }))
	},
	"bath moves": func(_ *testing.T, p plan.Plan) bool {
		return finds(p, fault.BathTemperatureDrift, warmed(func(t float64) float64 { return 20 + min(1, t/100) }))
	},
	"offset share": func(_ *testing.T, p plan.Plan) bool {
		w := of(p, watch.Bench{Tick: 0.1, AmpereStep: 0.0001}, func(_ int, k *watch.Tick) { k.Phase, k.Amperes = watch.PhaseContactCheck, -0.004 })
		return has(w, fault.CurrentOffset)
	},
}

// TestVoltsThatStandAreToldAfterTheTimeOfTheProfile: those that stand before a setpoint that
// waits, as those that stay away.
func TestVoltsThatStandAreToldAfterTheTimeOfTheProfile(t *testing.T) {
	p := reference()
	p.Watch.DroopTime = 1
	w := of(p, bench, func(_ int, k *watch.Tick) {
		if k.T > 40 {
			k.Volts, k.Set, k.Amperes = 40+unit.Volts(0.01*float64(int(k.T*10)%2)), 40.5, 0.66/(1+unit.Amperes(k.T-40)/1.6)
			k.OK = k.T < 41.8
		}
	})
	assert.Equal(t, fault.SupplyNotFollowing, w.Trip())
}
