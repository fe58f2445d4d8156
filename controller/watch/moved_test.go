package watch_test

import (
	"math"
	"sync"
	"testing"

	"anodized/controller/fault"
	"anodized/controller/film"
	"anodized/controller/plan"
	"anodized/controller/watch"
	"anodized/hal/unit"
	"anodized/profiles"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// detects runs a load that is a little beyond a threshold of this value (side is 1) or a
// little within it (-1), and tells whether the detector tells.
type detects func(t *testing.T, p plan.Plan, value, side float64) bool

// movable are the thresholds of this room: one for each key, whose detector must move with it.
var movable = map[string]detects{
	"short share": func(t *testing.T, p plan.Plan, value, side float64) bool {
		return tripped(p, bench, shorted(2, 0.96, value-0.01*side), until(41)) == fault.ShortCircuit
	},
	"plates area": func(t *testing.T, p plan.Plan, value, side float64) bool {
		return platesOf(p, value*(1+0.25*side)) == fault.PolaritySwapped
	},
	"stands share": func(t *testing.T, p plan.Plan, value, side float64) bool {
		return asked(p, value*(1-0.2*side))
	},
	"droop volts": func(t *testing.T, p plan.Plan, value, side float64) bool {
		fifth := func(_ int, k *watch.Tick) { k.Volts, k.Set = k.Volts/5, k.Set/5 } // to 14 V, where a share counts for little
		return finds(p, fault.SupplyDroop, fifth, lastDigitOfHold, sagging(3, unit.Volts(14-value-0.02-0.02*side), false))
	},
	"droop share": func(t *testing.T, p plan.Plan, value, side float64) bool {
		p.Watch.DroopVolts = 0.3
		return finds(p, fault.SupplyDroop, lastDigitOfHold, sagging(3, unit.Volts(70-70*value-0.02-0.02*side), false))
	},
	"droop time": func(t *testing.T, p plan.Plan, value, side float64) bool {
		readings := int(10*value+0.5) + 1
		if side < 0 {
			readings--
		}
		return tripped(p, bench, lastDigitOfHold, sagging(readings, 60, false)) == fault.SupplyNotFollowing
	},
	"target away": func(_ *testing.T, p plan.Plan, value, side float64) bool {
		w := of(p, bench, stepShows, func(_ int, k *watch.Tick) {
			if k.T > 80 {
				k.Volts -= unit.Volts(value + 0.005 + 0.01*side) // half of a step is the meter's
			}
		})
		w.Close(true, false)
		return has(w, fault.UnderFormed)
	},
	"most end": func(_ *testing.T, p plan.Plan, value, side float64) bool {
		p.Stages[0].End.CurrentDensity = of(p, bench).Summary().EndDensity / unit.CurrentDensity(value*(1+0.01*side))
		w := of(p, bench)
		w.Close(true, false)
		return has(w, fault.UnderFormed)
	},
	"end drop": func(t *testing.T, p plan.Plan, value, side float64) bool {
		ohm := value / 0.03 // at the end current of the plan; behind so much the hold ends with more
		ohm = value * (1 + 0.1*side) / float64(behindBath(p, ohm).Summary().EndCurrent)
		w := behindBath(p, ohm)
		w.Close(true, false)
		return has(w, fault.BathResistanceHigh)
	},
	"offset moves": func(_ *testing.T, p plan.Plan, value, side float64) bool {
		w := watch.New(p, watch.Bench{Tick: 0.1, AmpereStep: 0.0001})
		for range 5 {
			w.After(unit.Amperes(value*(1+0.05*side)) * p.End.Current)
		}
		w.Rested()
		return has(w, fault.CurrentOffset)
	},
	"end steps": func(_ *testing.T, p plan.Plan, value, side float64) bool {
		return has(watch.New(p, watch.Bench{Tick: 0.1, AmpereStep: p.End.Current * unit.Amperes((1+0.05*side)/value)}), fault.ReadbackTooCoarse)
	},
	"gain volts": func(_ *testing.T, p plan.Plan, value, side float64) bool {
		_, w := apart(14, value+0.01*side, 0, p.Watch)
		return has(w, fault.ReadbackGain)
	},
	"gain share": func(_ *testing.T, p plan.Plan, value, side float64) bool {
		p.Watch.GainVolts = 0.1
		_, w := apart(70, 0, value*(1+0.03*side), p.Watch)
		return has(w, fault.ReadbackGain)
	},
	"disagree volts": func(_ *testing.T, p plan.Plan, value, side float64) bool {
		at, _ := apart(14, value+0.01*side, 0, p.Watch)
		return at > 0
	},
	"disagree share": func(_ *testing.T, p plan.Plan, value, side float64) bool {
		p.Watch.DisagreeVolts = 0.3
		at, _ := apart(70, 0, value*(1+0.03*side), p.Watch)
		return at > 0
	},
	"stuck steps": func(t *testing.T, p plan.Plan, value, side float64) bool {
		const step = 0.05
		coarse := watch.Bench{Tick: 0.1, Settle: 0.15, VoltStep: step, AmpereStep: 0.001}
		return tripped(p, coarse, stepShows, standStill(400, 20, value*(1+0.15*side)*step)) == fault.ReadbackStuck
	},
	"stuck time": func(t *testing.T, p plan.Plan, value, side float64) bool {
		readings := int(10*value+0.5) + 2
		if side < 0 {
			readings--
		}
		return tripped(p, bench, lastDigit, standStill(400, readings, 1)) == fault.ReadbackStuck
	},
}

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

// movedElsewhere are keys of other rooms, which have such a test of their own.
var movedElsewhere = map[string]bool{"contact share": true, "formed share": true, "ramp times": true, "ramp spare": true, "asked area": true, "over volts": true, "over share": true, "bath hottest": true, "offset refused": true}

// TestEachDetectorMovesWithItsThreshold, to both ends of what a profile may set.
func TestEachDetectorMovesWithItsThreshold(t *testing.T) {
	for _, threshold := range profiles.Thresholds() {
		t.Run(threshold.Key, func(t *testing.T) {
			at := func(value float64) plan.Plan {
				p := reference()
				*threshold.Of(&p.Watch) = value
				return p
			}
			least, most := at(threshold.Least), at(threshold.Most)
			if told, known := midway[threshold.Key]; known {
				assert.NotEqual(t, told(t, least), told(t, most))
				return
			}
			told, known := movable[threshold.Key]
			require.NotEqual(t, movedElsewhere[threshold.Key], known, "one test moves it")
			if known {
				assert.True(t, told(t, least, threshold.Least, 1), "just beyond %v", threshold.Least)
				assert.False(t, told(t, least, threshold.Least, -1), "just within %v", threshold.Least)
				assert.True(t, told(t, most, threshold.Most, 1), "just beyond %v", threshold.Most)
				assert.False(t, told(t, most, threshold.Most, -1), "just within %v", threshold.Most)
			}
		})
	}
}

// is tells whether a finding is made of these ticks.
func is(t *testing.T, p plan.Plan, ticks []watch.Tick, code fault.Code) bool {
	t.Helper()
	made, _ := told(t, p, ticks, code)
	return made
}

var healthy = sync.OnceValue(func() []watch.Tick { return curve(reference()) })

// of runs the changed healthy curve until it trips or ends.
func of(p plan.Plan, b watch.Bench, changes ...change) *watch.Watch {
	w := watch.New(p, b)
	for n, k := range healthy() {
		for _, c := range changes {
			c(n, &k)
		}
		w.Update(k)
		if w.Trip() != "" {
			break
		}
	}
	return w
}

func tripped(p plan.Plan, b watch.Bench, changes ...change) fault.Code {
	return of(p, b, changes...).Trip()
}

func finds(p plan.Plan, code fault.Code, changes ...change) bool {
	return has(of(p, bench, changes...), code)
}

// climbing is a current of a hold that rises to so many times its least, and by a little more.
func climbing(times float64) change {
	var least unit.Amperes
	return func(_ int, k *watch.Tick) {
		switch age := float64(k.T) - 90; {
		case age < 0:
			least = k.Amperes
		default:
			k.Amperes = least * unit.Amperes(min(times, 1+age/10)+0.002*age)
		}
	}
}

// warmed is a bath of some course.
func warmed(celsius func(t float64) float64) change {
	return func(_ int, k *watch.Tick) { k.Bath, k.BathOK = unit.Celsius(celsius(float64(k.T))), true }
}

// resists tells of a bath with so many times the 3 ohm that are expected.
func resists(t *testing.T, p plan.Plan, times float64, code fault.Code) bool {
	t.Helper()
	p.Law.Series = 3
	return is(t, p, through(p, 3*times), code)
}

// joining is a share of the rack that carried a film of 31 V.
func joining(share float64) []watch.Tick {
	ticks := curve(reference())
	for n := range ticks {
		grown := 1 / (1 + math.Exp(-(float64(ticks[n].Volts)-31*1.12)/1.2))
		ticks[n].Amperes *= unit.Amperes(1 - share/(1+share)*(1-grown))
		ticks[n].Limit = 10
	}
	return ticks
}

// behindBath is the load behind a bath that resists twice as much as expected, which is not
// told of the resistance itself.
func behindBath(p plan.Plan, ohm float64) *watch.Watch {
	p.Law.Series, p.Watch.MostSeries = unit.Ohms(ohm/2), 4
	w := watch.New(p, bench)
	for _, k := range through(p, ohm) {
		w.Update(k)
	}
	return w
}

// apart are a supply and a meter that differ by some volts and a share of them; NaN where
// that ends no run.
func apart(target, volts, share float64, moved profiles.Watch) (tripped float64, w *watch.Watch) {
	c := healthyCourse()
	c.target, c.moved = target, moved
	c.shows = func(_, v float64) (float64, bool) { return v*(1+share) + volts, true }
	return c.run(target + 20)
}

// standStill repeats a reading of the volts some times, while the setpoint goes on by so many
// volts.
func standStill(from, readings int, further float64) change {
	var volts, set unit.Volts
	return func(n int, k *watch.Tick) {
		switch {
		case n == from:
			volts, set = k.Volts, k.Set
		case n > from && n < from+readings:
			k.Volts, k.Set = volts, min(k.Set, set+unit.Volts(further))
		}
	}
}

// stepShows lets the ramp, which climbs by ten steps a reading, show one of them.
func stepShows(n int, k *watch.Tick) {
	if n == 51 {
		k.Volts -= 0.09
	}
}

// asked tells whether the second point is asked for while the volts at the limit climb by a
// share of what the limit forms.
func asked(p plan.Plan, share float64) bool {
	law := film.New(p.Law.I0, p.Law.B, p.Law.KF, 1)
	rate := share * float64(law.RampRate(p.CurrentDensity))
	w := watch.New(p, bench)
	for n := range 60 {
		volts := unit.Volts(10 + rate*float64(n)/10)
		w.Update(watch.Tick{T: unit.Seconds(n+1) / 10, OK: true, Phase: watch.PhaseRamp, Volts: volts, Set: volts + 0.5, Amperes: 1, Limit: 1, Limited: true})
		if w.Probe() {
			return true
		}
	}
	return false
}

// platesOf are plates of so many times the declared area, whose film grows behind the bath.
func platesOf(p plan.Plan, times float64) fault.Code {
	const ohm = 10
	p.ContactCheck = plan.ContactCheck{Volts: 8, Ramp: 0.5, NoContact: 0.02}
	p.Law.Series, p.CurrentLimit = ohm, 10
	w, large := watch.New(p, bench), p
	large.Area *= unit.SquareCentimetres(times)
	law, nm := film.New(p.Law.I0, p.Law.B, p.Law.KF, 1), 3.0
	for n := 1; n <= 160; n++ {
		volts, amperes := 0.05*float64(n), 0.0
		for range fine {
			amperes = behind(law, large, volts, nm, ohm)
			nm += law.KF * amperes / float64(large.Area) * 0.1 / fine
		}
		w.Update(watch.Tick{T: unit.Seconds(n) / 10, OK: true, Phase: watch.PhaseContactCheck, Set: unit.Volts(volts), Limit: 10,
			Volts: unit.Volts(volts), Amperes: unit.Amperes(amperes)})
		if w.Trip() != "" {
			return w.Trip()
		}
	}
	return ""
}
