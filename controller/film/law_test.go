package film_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"anodized/controller/film"
	"anodized/hal/unit"
	"anodized/profiles"
)

// Constant sets for titanium: central is fitted to 1.97 nm/V at 0.5 mA/cm²; the
// others bracket how soft the law may be.
var (
	titanium = film.ChargeFactor(79.866, 4, 3.90)
	central  = film.New(6e-14, 4.5e-6, titanium, 1)
	soft     = film.New(1.2e-10, 3.0e-6, titanium, 1)
	stiff    = film.New(3e-17, 6.0e-6, titanium, 1)
	rigid    = film.New(5.0e-24, 9.072e-6, titanium, 1)
)

func TestChargeFactorOfTheValveMetals(t *testing.T) { // computed independently
	assert.InEpsilon(t, 530.6107, film.ChargeFactor(79.866, 4, 3.90), 1e-6, "TiO2")
	assert.InEpsilon(t, 631.8639, film.ChargeFactor(265.81, 10, 4.36), 1e-6, "Nb2O5")
	assert.InEpsilon(t, 572.4834, film.ChargeFactor(441.89, 10, 8.00), 1e-6, "Ta2O5")
}

func TestLawFromGrowth(t *testing.T) {
	g := profiles.Growth{I0: 6e-14, B: 4.5e-6, MolarMass: 79.866, Electrons: 4, OxideGCM3: 3.90, Efficiency: 0.95}
	assert.Equal(t, film.New(6e-14, 4.5e-6, titanium, 0.95), film.FromGrowth(g))
}

func TestNanometresPerVolt(t *testing.T) { // computed independently, to the digits given
	densities := []unit.CurrentDensity{10, 5, 3, 1, 0.5, 0.15, 0.05}
	for name, set := range map[string]struct {
		law  film.Law
		want []float64
	}{
		"central": {central, []float64{1.742, 1.790, 1.827, 1.912, 1.970, 2.080, 2.191}},
		"soft":    {soft, []float64{1.645, 1.710, 1.761, 1.883, 1.968, 2.137, 2.318}},
		"stiff":   {stiff, []float64{1.794, 1.832, 1.861, 1.927, 1.971, 2.052, 2.132}},
		"rigid":   {rigid, []float64{1.850, 1.876, 1.896, 1.941, 1.970, 2.023, 2.074}},
	} {
		for i, j := range densities {
			assert.InDelta(t, set.want[i], set.law.NMPerVolt(j), 5.1e-4, "%s at %v mA/cm²", name, j)
		}
	}
	assert.InDelta(t, 22.84, central.Softness(0.5), 5e-3)
}

func TestThicknessAtAnEnd(t *testing.T) { // computed independently
	assert.InEpsilon(t, 95.595485, float64(central.Thickness(50, 1)), 1e-7)
	assert.InEpsilon(t, 103.976253, float64(central.Thickness(50, 0.15)), 1e-7)
	assert.InEpsilon(t, 109.537321, float64(central.Thickness(50, 0.05)), 1e-7)
}

func TestSteadyRamp(t *testing.T) { // computed independently
	slow := central.SteadyRamp(0.3)
	assert.InEpsilon(t, 1.077548037, float64(slow.Density), 1e-9)
	assert.InEpsilon(t, 1.905861885, slow.NMPerVolt, 1e-9)
	assert.InEpsilon(t, 7.058747723, float64(central.RelaxationTime(50, 0.3)), 1e-9)
	for name, row := range map[string]struct {
		law             film.Law
		density, growth float64
	}{
		"central": {central, 9.852085381, 1.742540784},
		"soft":    {soft, 9.335164999, 1.651112948},
		"stiff":   {stiff, 10.14021737, 1.793502761},
	} {
		fast := row.law.SteadyRamp(3)
		assert.InEpsilon(t, row.density, float64(fast.Density), 1e-9, name)
		assert.InEpsilon(t, row.growth, fast.NMPerVolt, 1e-9, name)
	}
}

func TestExponentialIntegral(t *testing.T) {
	// NIST DLMF 8.19; the values were computed independently, those at 1 and below
	// are of Abramowitz and Stegun, table 5.4 (from memory).
	assert.InEpsilon(t, 9.40485643085815e-11, film.E2(20), 1e-12)
	assert.InEpsilon(t, 5.15694476613479e-13, film.E2(25), 1e-12)
	assert.InEpsilon(t, 0.148495506775922, film.E2(1), 1e-12)
	assert.InEpsilon(t, 0.326643862324553, film.E2(0.5), 1e-12)
	assert.Equal(t, 1.0, film.E2(0))
}

func TestHoldWithoutSeriesResistance(t *testing.T) { // computed independently
	for name, row := range map[string]struct {
		law      film.Law
		from, to unit.CurrentDensity
		want     float64
	}{
		"central to 1":    {central, 2.763251417, 1, 4.715229},
		"central to 0.15": {central, 2.763251417, 0.15, 53.086621},
		"central to 0.05": {central, 2.763251417, 0.05, 181.476518},
		"soft to 0.15":    {soft, 2.673361374, 0.15, 80.973211},
		"stiff to 0.15":   {stiff, 2.811867558, 0.15, 39.510245},
	} {
		h := film.HoldCase{Volts: 50, From: row.from, To: row.to}
		assert.InEpsilon(t, row.want, float64(row.law.HoldExact(h)), 1e-6, name)
		assert.InEpsilon(t, row.want, float64(row.law.Hold(h)), 2e-4, name)
	}
}

func TestDecayOfACurve(t *testing.T) { // computed independently
	d := film.Decay{Volts: 50, Rate: 0.8, SeriesDrop: 1.0362193, U0: 24.55308}
	assert.InEpsilon(t, 59.9984, float64(d.Time(0.05171738)), 1e-5)
	assert.InEpsilon(t, 24.55308, film.FitU0(d, 0.05171738, d.Time(0.05171738)), 1e-9)
}

func TestHydrogen(t *testing.T) { // computed independently
	assert.InEpsilon(t, 7.479, film.HydrogenML(60), 1e-4, "an ampere-minute")
	assert.InDelta(t, 3.6, film.HydrogenML(29.003691), 0.02, "the load of TestTrace")
}

func TestNoRampNoGrowth(t *testing.T) {
	still := central.SteadyRamp(0)
	require.Zero(t, still.Density)
	require.Zero(t, still.Softness)
	require.NotEqual(t, still.NMPerVolt, still.NMPerVolt, "a volt has no meaning")
}
