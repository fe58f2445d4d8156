package unit

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	_ "anodized/hal/haltest/draw" // the same cases on each run
)

func TestQuantitiesAreWrittenAsPeopleWriteThem(t *testing.T) {
	assert.Equal(t, "70 V", Volts(70).String())
	assert.Equal(t, "5 mA/cm2", CurrentDensity(5).String())
	assert.Equal(t, "24 °C", Celsius(24).String())
	assert.Equal(t, "0.85 A", Amperes(0.85).String())
	assert.Equal(t, "3600000 C", Coulombs(3.6e6).String())
	assert.Equal(t, "2.5 ohm", Ohms(2.5).String())
	assert.Equal(t, "1e-09 V", Volts(1e-9).String())
	assert.Equal(t, "0 s", Seconds(0).String())
	assert.Equal(t, "NaN nm", Nanometres(math.NaN()).String())
}

func TestDisplayInAnotherUnit(t *testing.T) {
	feet, err := In(SquareCentimetres(929.0304), "ft2")
	require.NoError(t, err)
	assert.Equal(t, 1.0, feet)
	fahrenheit, err := In(Celsius(24), "°F")
	require.NoError(t, err)
	assert.InDelta(t, 75.2, fahrenheit, 1e-12)
	_, err = In(SquareCentimetres(1), "A")
	assert.EqualError(t, err, `cannot show an area in "A"; allowed is cm2, dm2, mm2, m2, in2, ft2`)
}

// roundTrip holds for every value that a quantity can have: what is written reads
// back as the same bits.
func roundTrip[T Quantity](t *testing.T) {
	t.Helper()
	least := -math.MaxFloat64
	if floor := dimensionOf[T]().floor; !math.IsInf(floor, -1) {
		least = floor
	}
	rapid.Check(t, func(t *rapid.T) {
		value := T(rapid.Float64Range(least, math.MaxFloat64).Draw(t, "value"))
		back, err := Parse[T](Format(value))
		require.NoError(t, err)
		require.Equal(t, value, back)
	})
}

func TestRoundTrip(t *testing.T) {
	roundTrip[Volts](t)
	roundTrip[Amperes](t)
	roundTrip[Seconds](t)
	roundTrip[VoltsPerSecond](t)
	roundTrip[CurrentDensity](t)
	roundTrip[SquareCentimetres](t)
	roundTrip[Millimetres](t)
	roundTrip[Nanometres](t)
	roundTrip[Celsius](t)
	roundTrip[Coulombs](t)
	roundTrip[Grams](t)
	roundTrip[Litres](t)
	roundTrip[Conductivity](t)
	roundTrip[Ohms](t)
}

// Every unit of every table converts there and back.
func TestEveryUnitConvertsBack(t *testing.T) {
	for _, d := range append([]*dimension{&thickness}, all...) {
		for name, factor := range d.units {
			rapid.Check(t, func(t *rapid.T) {
				number := rapid.Float64Range(0, 1e6).Draw(t, "number")
				assert.InDelta(t, number, factor.number(factor.canonical(number)), 1e-9, name)
			})
		}
		canonical, ok := d.lookup(d.symbol)
		assert.True(t, ok && canonical == one, d.symbol)
	}
}

// No unit belongs to two dimensions, or an error would name the wrong one.
func TestUnitsAreUnambiguous(t *testing.T) {
	owner := map[string]string{}
	for _, d := range all {
		for name := range d.units {
			assert.Empty(t, owner[name], name)
			owner[name] = d.noun
		}
	}
}

func TestFlag(t *testing.T) {
	var f Flag[SquareCentimetres]
	assert.Empty(t, f.String())
	assert.Equal(t, "area", f.Type())
	require.Error(t, f.Set("5 A"))
	assert.False(t, f.Given)
	require.NoError(t, f.Set("2 ft2"))
	assert.True(t, f.Given)
	assert.Equal(t, "1858.0608 cm2", f.String())
	assert.Equal(t, "current-density", (&Flag[CurrentDensity]{}).Type())
	assert.Equal(t, "5 V", (&Flag[Volts]{Value: 5}).String())
}

// Whatever is accepted is finite, not below the floor, and reads back.
func FuzzParse(f *testing.F) {
	for _, seed := range []string{"70 V", "1e400 V", "-5 cm2", "0x1p4 V", "1_0 V", "24 °C", "NaN V", "5 mA/cm²", ""} {
		f.Add(seed)
	}
	f.Fuzz(func(t *testing.T, text string) {
		fuzzOne[SquareCentimetres](t, text)
		fuzzOne[Celsius](t, text)
		fuzzOne[Volts](t, text)
		fuzzOne[CurrentDensity](t, text)
	})
}

func fuzzOne[T Quantity](t *testing.T, text string) {
	value, err := Parse[T](text)
	if err != nil {
		require.True(t, math.IsNaN(float64(value)))
		return
	}
	require.False(t, math.IsInf(float64(value), 0) || math.IsNaN(float64(value)), text)
	require.GreaterOrEqual(t, float64(value), dimensionOf[T]().floor)
	back, err := Parse[T](Format(value))
	require.NoError(t, err)
	require.Equal(t, value, back)
}

func BenchmarkParse(b *testing.B) {
	b.ReportAllocs()
	for b.Loop() {
		if _, err := Parse[CurrentDensity]("4.6 A/ft2"); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkFormat(b *testing.B) {
	b.ReportAllocs()
	for b.Loop() {
		_ = Format(Volts(12.345))
	}
}
