package film_test

import (
	"math"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"anodized/controller/film"
	"anodized/hal/unit"
)

func anyLaw(t *rapid.T) film.Law {
	law := rapid.SampledFrom([]film.Law{central, soft, stiff, rigid}).Draw(t, "law")
	law.B *= rapid.Float64Range(0.95, 1.05).Draw(t, "share of B")
	law.Efficiency = rapid.Float64Range(0.5, 1).Draw(t, "efficiency")
	return law
}

func anyDensity(t *rapid.T, name string) unit.CurrentDensity {
	return unit.CurrentDensity(math.Exp(rapid.Float64Range(math.Log(0.02), math.Log(20)).Draw(t, name)))
}

func TestDensityAndThicknessAreInverse(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		law, j := anyLaw(t), anyDensity(t, "density")
		v := unit.Volts(rapid.Float64Range(1, 120).Draw(t, "volts"))
		x := law.Thickness(v, j)
		require.InEpsilon(t, float64(j), float64(law.Density(v, x)), 1e-12)
		require.InEpsilon(t, float64(v), float64(law.Volts(x, j)), 1e-14)
	})
}

func TestRampAndConstantCurrentAreInverse(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		law := anyLaw(t)
		r := unit.VoltsPerSecond(math.Exp(rapid.Float64Range(math.Log(1e-3), math.Log(20)).Draw(t, "log rate")))
		steady := law.SteadyRamp(r)
		require.InEpsilon(t, float64(r), float64(law.RampRate(steady.Density)), 1e-12)
		require.InEpsilon(t, law.NMPerVolt(steady.Density), steady.NMPerVolt, 1e-13)
	})
}

func TestLessCurrentMakesMoreFilm(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		law, j := anyLaw(t), anyDensity(t, "density")
		less := j * unit.CurrentDensity(rapid.Float64Range(0.1, 0.999).Draw(t, "share"))
		require.Greater(t, law.NMPerVolt(less), law.NMPerVolt(j))
		require.Less(t, float64(law.RampRate(less)), float64(law.RampRate(j)))
	})
}

func TestCalibratedLawMeetsItsCalibration(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		law, j := anyLaw(t), anyDensity(t, "density")
		a := rapid.Float64Range(1.2, 3.2).Draw(t, "nm per volt")
		calibrated := law.Calibrated(a, j)
		require.InEpsilon(t, a, calibrated.NMPerVolt(j), 1e-14)
		other := anyDensity(t, "other density")
		require.InEpsilon(t, law.Softness(j)/law.Softness(other), calibrated.NMPerVolt(other)/a, 1e-13)
	})
}

func TestClosedHoldIsCloseToExact(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		law, h := anyLaw(t), anyHold(t)
		exact := float64(law.HoldExact(h))
		require.Positive(t, exact)
		require.InEpsilon(t, exact, float64(law.Hold(h)), 2e-4)
	})
}

func TestHoldBackward(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		law, h := anyLaw(t), anyHold(t)
		found := law.DensityAfter(h, law.HoldExact(h))
		require.InEpsilon(t, float64(h.To), float64(found), 1e-9)
	})
}

func anyHold(t *rapid.T) film.HoldCase {
	from := unit.CurrentDensity(rapid.Float64Range(0.1, 20).Draw(t, "from"))
	return film.HoldCase{
		Volts:  unit.Volts(rapid.Float64Range(30, 120).Draw(t, "volts")),
		Area:   unit.SquareCentimetres(rapid.Float64Range(5, 500).Draw(t, "area")),
		Series: unit.Ohms(rapid.Float64Range(0, 2).Draw(t, "series")),
		From:   from, To: max(0.03, from*unit.CurrentDensity(rapid.Float64Range(0.01, 0.9).Draw(t, "share"))),
	}
}

func TestDecayIsTheHoldOfItsLaw(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		law, h := anyLaw(t), anyHold(t)
		rate := float64(law.RampRate(h.From))
		d := film.Decay{
			Volts: h.Volts, Rate: unit.VoltsPerSecond(rate),
			SeriesDrop: unit.Volts(float64(h.From.At(h.Area)) * float64(h.Series)), U0: law.Softness(h.From),
		}
		x := float64(h.To / h.From)
		require.InEpsilon(t, float64(law.Hold(h)), float64(d.Time(x)), 1e-5)
		require.InEpsilon(t, x, d.Ratio(d.Time(x)), 1e-10)
		require.InEpsilon(t, d.U0, film.FitU0(d, x, d.Time(x)), 1e-9)
	})
}

func TestE2AgreesWithItsDefinition(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		u := rapid.Float64Range(0.01, 40).Draw(t, "u")
		// E2(u) is the integral of e^(-u/s) ds over 0 to 1, here by Simpson.
		const n = 4000
		sum := math.Exp(-u)
		for i := 1; i < n; i++ {
			sum += float64(2+2*(i%2)) * math.Exp(-u*n/float64(i))
		}
		require.InEpsilon(t, sum/(3*n), film.E2(u), 1e-6)
	})
}

// The charge of a load without leak is that of its film, whatever happened.
func TestRunAgreesWithItsClosedForms(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		load := film.Load{
			Law: anyLaw(t), Native: unit.Nanometres(rapid.Float64Range(0.5, 30).Draw(t, "native film")),
			Area:   unit.SquareCentimetres(rapid.Float64Range(5, 500).Draw(t, "area")),
			Series: unit.Ohms(rapid.Float64Range(0, 2).Draw(t, "series")),
			Target: unit.Volts(rapid.Float64Range(20, 110).Draw(t, "target")),
			Rate:   unit.VoltsPerSecond(rapid.Float64Range(0.2, 3).Draw(t, "rate")),
			End:    film.End{Density: 0.15},
		}
		load.Limit = unit.CurrentDensity(rapid.Float64Range(0.5, 10).Draw(t, "limit")).At(load.Area)
		out, err := film.Run(load)
		require.NoError(t, err)
		require.InEpsilon(t, float64(load.Law.ChargeFor(load.Native, out.Thickness, load.Area)), float64(out.Charge), 1e-9)
		require.InEpsilon(t, float64(out.Thickness), float64(load.Law.ChargeThickness(load.Native, out.Charge, load.Area)), 1e-9)
		across := load.Target - unit.Volts(float64(out.EndCurrent)*float64(load.Series))
		require.InEpsilon(t, float64(load.Law.Thickness(across, out.EndDensity)), float64(out.Thickness), 1e-9)
		require.LessOrEqual(t, float64(out.RampCurrent), float64(load.Limit)*(1+1e-12))
		require.InEpsilon(t, 0.15, float64(out.EndDensity), 1e-6)
		if out.Limited {
			require.InEpsilon(t, float64(load.Limit), float64(out.RampCurrent), 1e-12)
		}
	})
}

func TestSeriesResistanceIsLostToTheFilm(t *testing.T) {
	load := sixSpacers()
	load.End = film.End{Time: 60}
	without, err := film.Run(load)
	require.NoError(t, err)
	load.Series = 25
	with, err := film.Run(load)
	require.NoError(t, err)
	require.Less(t, float64(with.Thickness), float64(without.Thickness))
	require.InDelta(t, 99.6, float64(with.Thickness), 0.05, "computed independently")
}

func TestWarmthNeedsFewerVolts(t *testing.T) { // computed independently: 50 V at 20 °C is 49.16 V at 25 °C
	warm := central.Warmed(0.0034, 20, 25)
	require.InDelta(t, 49.16, float64(warm.Volts(central.Thickness(50, 0.15), 0.15)), 5e-3)
}

func TestEffectiveAreaOfASteadyRamp(t *testing.T) {
	steady := central.SteadyRamp(0.8)
	chargePerVolt := 150 * steady.NMPerVolt / titanium
	require.InEpsilon(t, 150, float64(central.EffectiveArea(chargePerVolt, steady.Density)), 1e-12)
}
