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
)

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
