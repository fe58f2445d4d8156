package profiles

import (
	"math"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func TestEveryStarterIsReadAndIsCalledAsItsFile(t *testing.T) {
	for _, name := range ProfileNames() {
		p, err := OpenProfile(name, nil)
		require.NoError(t, err, name)
		assert.Equal(t, name, p.Name)
	}
	for _, name := range RackNames() {
		k, err := OpenRack(name, nil)
		require.NoError(t, err, name)
		assert.Equal(t, name, k.Name)
	}
	for _, id := range MetalIDs() {
		m, err := OpenMetal(id, nil)
		require.NoError(t, err, id)
		assert.Equal(t, id, m.ID)
		c, err := OpenCalibration(m.Book, nil)
		require.NoError(t, err, m.Book)
		assert.Equal(t, []string{m.ID, m.Film, m.Substrate}, []string{c.Metal, c.Film, c.Substrate})
		assert.True(t, c.Book)
	}
	for _, id := range BathIDs() {
		b, err := OpenBath(id, nil)
		require.NoError(t, err, id)
		assert.Equal(t, id, b.ID)
	}
	for _, id := range CalibrationIDs() {
		c, err := OpenCalibration(id, nil)
		require.NoError(t, err, id)
		assert.Equal(t, id, c.ID)
	}
}

func TestTheStartersThatThePagesPromise(t *testing.T) {
	assert.Equal(t, []string{"niobium", "tantalum", "titanium-grade-2", "titanium-grade-5"}, MetalIDs())
	assert.Equal(t, []string{"ammonium-sulfate", "bicarbonate", "phosphate"}, BathIDs())
	assert.GreaterOrEqual(t, len(ProfileNames()), 10)
	assert.Contains(t, MetalIDs(), DefaultMetal)
	assert.Contains(t, ProfileNames(), DefaultProfile)
	assert.Contains(t, RackNames(), DefaultRack)
}

func TestTheSecondOrderPurple(t *testing.T) {
	p, err := OpenProfile("Second-Order_Purple", nil)
	require.NoError(t, err)
	assert.Equal(t, Target{Volts: 70}, p.Target)
	assert.Equal(t, End{CurrentDensity: 0.15, Sustained: 5, LeastHold: 5, LongestHold: 180}, p.End)
	assert.EqualValues(t, 72, p.Ceiling)
	assert.Equal(t, "bicarbonate", p.Bath)
	assert.Contains(t, p.Note, "no source")
}

func TestTheDefaultRack(t *testing.T) {
	k, err := OpenRack(DefaultRack, nil)
	require.NoError(t, err)
	require.Len(t, k.Parts, 1)
	assert.Equal(t, 8, k.Parts[0].Count)
	assert.Equal(t, &Ring{Outside: 34, Bore: 28.6, Height: 10}, k.Parts[0].Shape.Ring)
	assert.Equal(t, 1.0, k.Parts[0].Wetted)
	assert.Equal(t, 1.0, k.Parts[0].Roughness)
	assert.Equal(t, []Fixture{{Wire: &Wire{Diameter: 1.6, WettedLength: 60, Count: 8}}}, k.Fixture)
}

func TestTheConstantsOfTitanium(t *testing.T) {
	m, err := OpenMetal("TITANIUM grade 5", nil)
	require.NoError(t, err)
	assert.Equal(t, Growth{I0: 6e-14, B: 4.5e-6, MolarMass: 79.866, Electrons: 4, OxideGCM3: 3.9, Efficiency: 1}, m.Growth)
	c, err := OpenCalibration("titanium-grade-5-book", nil)
	require.NoError(t, err)
	assert.Equal(t, 1.97, c.NMPerVolt)
	assert.EqualValues(t, 1.5, c.Offset)
	assert.EqualValues(t, 0.5, c.EndCurrentDensity)
	assert.Equal(t, "fitted to the trade's colour sequence, common practice, no source", c.Provenance)
}

// at interpolates linearly, as the tables are meant to be used.
func at(x, y []float64, wanted float64) float64 {
	for i := 1; i < len(x); i++ {
		if x[i] >= wanted {
			return y[i-1] + (y[i]-y[i-1])*(wanted-x[i-1])/(x[i]-x[i-1])
		}
	}
	return math.NaN()
}

// n and k at 550 nm by linear interpolation, computed independently from the same
// public tables.
func TestOpticalTablesAt550Nanometres(t *testing.T) {
	want := map[string][2]float64{
		"TiO2-Jolivet-amorphous": {2.4491, 0}, "TiO2-Siefke": {2.4358, 0}, "TiO2-Franta": {2.3465, 0}, "TiO2-Sarkar": {2.1644, 0},
		"Ti-Johnson": {2.5418, 3.4345}, "Ti-Mash": {2.2450, 2.9250}, "Ti-Rakic-BB": {1.8742, 3.0200},
		"Nb-Golovashkin-293K": {2.2600, 3.1600}, "Nb-Weaver": {2.9206, 2.8712},
		"Nb2O5-Lemarchand": {2.3603, 0}, "Nb2O5-Franta": {2.3629, 0}, "Nb2O5-Horcholle-400": {2.3951, 0},
		"Ta-Werner": {1.1213, 4.8835}, "Ta2O5-Gao": {2.1573, 0}, "Ta2O5-Franta-2015": {2.1222, 0},
	}
	for id, nk := range want {
		table, err := OpticalConstants(id)
		require.NoError(t, err)
		assert.InDelta(t, nk[0], at(table.Nanometres, table.N, 550), 5e-5, id)
		assert.InDelta(t, nk[1], at(table.Nanometres, table.K, 550), 5e-5, id)
	}
}

func TestEveryOpticalTableIsWholeAndNamesItsSource(t *testing.T) {
	assert.Len(t, OpticalIDs(), 19)
	for _, id := range OpticalIDs() {
		table, err := OpticalConstants(strings.ToUpper(id))
		require.NoError(t, err)
		assert.Equal(t, id, table.ID)
		assert.Contains(t, table.Source, "refractiveindex.info", id)
		assert.NotEmpty(t, table.Use)
		assert.Len(t, table.K, len(table.Nanometres))
		assert.Less(t, table.Nanometres[0], 401.0, id)
		assert.Greater(t, table.Nanometres[len(table.N)-1], 780.0, id)
	}
	_, err := OpticalConstants("Ti-Jonson")
	assert.ErrorContains(t, err, `no optical table is called "Ti-Jonson"; did you mean "Ti-Johnson"? known: Nb-Golovashkin-293K, `)
}

// White points by plain sums from 380 to 780 nm at 5 nm: computed independently;
// published in CIE 15 as 95.047 and 108.883, 96.422 and 82.521, 109.850 and 35.585.
func TestWhitePoints(t *testing.T) {
	o := Observer()
	require.Len(t, o.Nanometres, 471)
	for id, xz := range map[string][2]float64{"D65": {95.042967, 108.880055}, "d50": {96.419686, 82.512259}, "A": {109.848993, 35.582474}} {
		light, err := Illuminant(id)
		require.NoError(t, err)
		require.Len(t, light.Power, 81)
		x, y, z := 0.0, 0.0, 0.0
		for i, nm := range light.Nanometres {
			at := int(nm - o.Nanometres[0])
			x, y, z = x+light.Power[i]*o.X[at], y+light.Power[i]*o.Y[at], z+light.Power[i]*o.Z[at]
		}
		assert.InDelta(t, xz[0], 100*x/y, 1e-6, id)
		assert.InDelta(t, xz[1], 100*z/y, 1e-6, id)
	}
	_, err := Illuminant("D55")
	assert.EqualError(t, err, `no illuminant is called "D55"; known: D65, D50, A, C, FL2, LED-B3`)
}

func TestOpeningWhatIsNotThere(t *testing.T) {
	_, err := OpenProfile("second order purpel", nil)
	assert.ErrorContains(t, err, `no profile is called "second order purpel" and there is no such file; did you mean "second-order purple"? known: "blue", `)
	_, err = OpenRack("./nothing.yaml", nil)
	assert.EqualError(t, err, "rack: cannot read ./nothing.yaml: no such file or directory")
	_, err = OpenMetal("-", nil)
	assert.ErrorContains(t, err, "standard input")
	_, err = OpenBench("testdata", nil)
	assert.ErrorContains(t, err, "bench file: ")
	rack, err := OpenRack("-", strings.NewReader("name: one\nparts: [{name: a, count: 1, area: 1 dm2}]\n"))
	require.NoError(t, err)
	assert.EqualValues(t, 100, rack.Parts[0].Shape.Area)
	_, err = OpenRack("-", strings.NewReader("name: one\n"))
	assert.ErrorContains(t, err, `-:1:1: missing key "parts" in a rack`)
}
