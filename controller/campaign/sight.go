package campaign

import (
	"math"

	"anodized/controller/watch"
)

// rampOf is the current of the ramp, A; 3.4 mA/cm² for a volt a second where no charge is
// lost.
func rampOf(c *Case) float64 {
	j := 3.42 * float64(c.Request.Profile.Ramp) / c.Setup.Parameters.Film.Efficiency
	return math.Min(j, float64(c.Request.Profile.CurrentDensity)) * 1e-3 * areaOf(c)
}

// dropOf is what bath and leads took as the fault began, V.
func dropOf(r Report) float64 { return seriesOf(&r.Case) * r.OnsetAmperes }

// youngRamp: the pace rose so lately that what a coulomb makes at it is not known for sure
// (growth of the watch): a part may go untold.
func youngRamp(r Report) bool {
	s := sightOf(r)
	return s.Film+s.Drop-float64(r.Plan.ContactCheck.Volts) < 6*s.Rate
}

// sightOf is what the watch can see of a load as the fault began, by the plant's own numbers:
// the noise of its meters (0.01 V rms, from the spread), steps as even noise, and volts that
// uneven ticks scatter in a ramp.
func sightOf(r Report) watch.Sight {
	p, drop := r.Case.Setup.Parameters, dropOf(r)
	softness := math.Log1p(r.OnsetAmperes / areaOf(&r.Case) / p.Film.I0)
	rate := 0.0
	if r.OnsetHeld < 0 {
		rate = math.Min(float64(r.Plan.Ramp), r.OnsetAmperes/rampOf(&r.Case)*float64(r.Plan.Ramp))
	}
	uneven := 0.0
	if !r.OnsetLimited {
		uneven = 0.35 * r.Case.Jitter * r.Case.Tick.Seconds() * rate
	}
	most := r.Plan.Watch.Filled()
	return watch.Sight{Film: r.OnsetVolts - drop, Softness: softness, Drop: drop, Rate: rate,
		Volts: math.Hypot(math.Hypot(p.Meter.VoltNoise, p.Meter.VoltStep/math.Sqrt(12)), uneven),
		Gas:   p.Meter.GasNoise, Step: p.Meter.AmpereStep / r.OnsetAmperes, LostShare: most.LostShare, DipShare: most.DipShare}
}

// clearly is how far a share must be above the least that is seen: noise takes its part of
// what it adds to.
const clearly = 1.25

func stands(r Report, least float64) bool { return 1/float64(r.Plan.Parts) > clearly*least }

// joinOf is what parts that carry an earlier film have to stand out of; the plant's own film
// is one that ended at 0.15 mA/cm².
func joinOf(r Report) watch.Join {
	c := &r.Case
	m, film := c.Setup.Parameters.Meter, c.Setup.Parameters.Film
	amperes := rampOf(c)
	free := 3.42e-3 * float64(r.Plan.Ramp) / film.Efficiency * areaOf(c) // what the ramp takes without a limit
	return watch.Join{Film: r.fault().Size, Rest: math.Log1p(0.15e-3 / film.I0), Softness: math.Log1p(amperes / areaOf(c) / film.I0),
		Drop: seriesOf(c) * amperes, Rate: float64(r.Plan.Ramp) * amperes / free, From: float64(r.Plan.ContactCheck.Volts),
		Share: 1 / float64(r.Plan.Parts), Volts: math.Hypot(m.VoltNoise, m.VoltStep/math.Sqrt(12)),
		Gas: math.Hypot(m.GasNoise, m.AmpereStep/math.Sqrt(12)/amperes), Paced: amperes < free, JoinShare: r.Plan.Watch.Filled().JoinShare}
}

// crossingOf is what lifts the crossing of a resistor across the cell.
func crossingOf(r Report) watch.Crossing {
	p, limit := r.Case.Setup.Parameters, float64(r.Plan.CurrentLimit)
	j := limit / areaOf(&r.Case)
	return watch.Crossing{Volts: r.fault().Size * limit, Drop: seriesOf(&r.Case) * limit, Softness: math.Log1p(j / p.Film.I0),
		Carried: j * p.Film.Efficiency / 3.42e-3, Step: p.Meter.VoltStep, Scatter: p.Meter.VoltNoise, Tick: r.Case.Tick.Seconds(), Gas: p.Meter.GasNoise}
}
