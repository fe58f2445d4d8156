package unit

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// check parses one text and compares it with the exact value.
func check[T Quantity](t *testing.T, text string, want T) {
	t.Helper()
	got, err := Parse[T](text)
	require.NoError(t, err, text)
	assert.InEpsilonf(t, 1+math.Abs(float64(want)), 1+math.Abs(float64(got)), 1e-15, "%s: got %v, want %v", text, got, want)
	assert.Equal(t, math.Signbit(float64(want)), math.Signbit(float64(got)), text)
}

func TestEveryUnitHasItsExactFactor(t *testing.T) {
	check[Volts](t, "70 V", 70)
	check[Volts](t, "250 mV", 0.25)
	check[Volts](t, "0.1 kV", 100)
	check[Volts](t, "-0.5 V", -0.5)
	check[Volts](t, "\u22120.5\u00a0V", -0.5)
	check[Amperes](t, "850 mA", 0.85)
	check[Amperes](t, "1500 uA", 0.0015)
	check[Amperes](t, "1500 µA", 0.0015)
	check[Amperes](t, "1500 \u03bcA", 0.0015)
	check[Seconds](t, "200 ms", 0.2)
	check[Seconds](t, "5 min", 300)
	check[Seconds](t, "2 h", 7200)
	check[VoltsPerSecond](t, "1.5 V/s", 1.5)
	check[VoltsPerSecond](t, "800 mV/s", 0.8)
	check[VoltsPerSecond](t, "48 V/min", 0.8)
	check[Coulombs](t, "1 A h", 3600)
	check[Coulombs](t, "1 A·h", 3600)
	check[Coulombs](t, "250 mC", 0.25)
	check[Coulombs](t, "1 mAh", 3.6)
	check[Grams](t, "11.8 g", 11.8)
	check[Grams](t, "1 lb", 453.59237)
	check[Grams](t, "16 oz", 453.59237)
	check[Litres](t, "5 L", 5)
	check[Litres](t, "500 ml", 0.5)
	check[Conductivity](t, "8.2 mS/cm", 8.2)
	check[Conductivity](t, "8200 µS/cm", 8.2)
	check[Conductivity](t, "0.82 S/m", 8.2)
	check[Ohms](t, "2.5 ohm", 2.5)
	check[Ohms](t, "2.5 \u03a9", 2.5)
	check[Ohms](t, "2.5 k\u2126", 2500)
}

// The factors of area and density follow from the inch of exactly 25.4 mm
// (NIST SP 811, appendix B).
func TestAreasDensitiesAndLengths(t *testing.T) {
	check[CurrentDensity](t, "1 A/dm2", 10)
	check[CurrentDensity](t, "9.290304 A/ft2", 10)
	check[CurrentDensity](t, "1 A/ft²", 1000/929.0304)
	check[CurrentDensity](t, "1 A/m^2", 0.1)
	check[CurrentDensity](t, "6.4516 A/in2", 1000)
	check[CurrentDensity](t, "5 mA/cm²", 5)
	check[CurrentDensity](t, "5 mA / cm2", 5)
	check[SquareCentimetres](t, "2 ft2", 1858.0608)
	check[SquareCentimetres](t, "0.2 dm2", 20)
	check[SquareCentimetres](t, "1 in2", 6.4516)
	check[SquareCentimetres](t, "100 mm²", 1)
	check[SquareCentimetres](t, "0.01 m2", 100)
	check[Millimetres](t, "0.5 in", 12.7)
	check[Millimetres](t, "1 mil", 0.0254)
	check[Millimetres](t, "3.4 cm", 34)
	check[Millimetres](t, "0.034 m", 34)
	check[Nanometres](t, "139 nm", 139)
	check[Nanometres](t, "0.139 um", 139)
	check[Nanometres](t, "1390 angstrom", 139)
	check[Nanometres](t, "1390 \u00c5", 139)
	check[Nanometres](t, "1 mil", 25400)
}

func TestTemperatures(t *testing.T) {
	check[Celsius](t, "24 °C", 24)
	check[Celsius](t, "24 degC", 24)
	check[Celsius](t, "75.2 °F", 24)
	check[Celsius](t, "32 degF", 0)
	check[Celsius](t, "-459.67 °F", -273.15)
	check[Celsius](t, "0 K", -273.15)
	check[Celsius](t, "293.15 K", 20)
	for _, text := range []string{"-273.16 °C", "-1 K", "-459.7 °F"} {
		_, err := Parse[Celsius](text)
		assert.ErrorContains(t, err, "below absolute zero, -273.15 °C", text)
	}
}

func TestMessagesSayWhatIsAllowed(t *testing.T) {
	cases := []struct{ text, want string }{
		{"5 A", `"5 A" is a current; a current density is needed: mA/cm2, A/dm2, A/ft2, A/m2`},
		{"5", `"5" has no unit; a current density is needed: mA/cm2, A/dm2, A/ft2, A/m2`},
		{"", `empty; a current density is needed, such as "5 mA/cm2"`},
		{"five mA/cm2", `"five mA/cm2" does not begin with a plain number; a current density is needed, such as "5 mA/cm2"`},
		{"5 ma/cm2", `"5 ma/cm2": unknown unit "ma/cm2", did you mean "5 mA/cm2"? a current density is needed: mA/cm2, A/dm2, A/ft2, A/m2`},
		{"5 ASF", `"5 ASF": unknown unit "ASF"; a current density is needed: mA/cm2, A/dm2, A/ft2, A/m2`},
		{"1,5 mA/cm2", `"1,5 mA/cm2" has a comma in its number; write a decimal point and no thousands separator`},
		{"1e999 mA/cm2", `1e999 is too large to be a number of this program`},
		{"1e306 A/cm2", `"1e306 A/cm2" is too large to be a number of this program`},
		{"1e-999 mA/cm2", `1e-999 is too small to be a number of this program`},
		{"5e-324 A/m2", `"5e-324 A/m2" is too small to be a number of this program`},
	}
	for _, c := range cases {
		value, err := Parse[CurrentDensity](c.text)
		assert.EqualError(t, err, c.want)
		assert.True(t, math.IsNaN(float64(value)), c.text)
	}
}

func TestWhatOnlyAComputerCallsANumberIsRefused(t *testing.T) {
	for _, text := range []string{
		"NaN V", "nan V", "inf V", "+Inf V", "-inf V", "infinity V", "0x10 V", "0x1p4 V", "1_000 V",
		"1__0 V", "0b1 V", "0o7 V", ".nan", "- 5 V", "+-5 V", "5 5 V", "1.2.3 V", "٥ V", ". V", "e5 V", "5e V", "5 V V",
	} {
		value, err := Parse[Volts](text)
		assert.Error(t, err, text)
		assert.True(t, math.IsNaN(float64(value)), text)
	}
}

func TestNothingThatCannotBeIsTaken(t *testing.T) {
	_, err := Parse[SquareCentimetres]("-5 cm2")
	assert.EqualError(t, err, `"-5 cm2": an area is never negative`)
	_, err = Parse[Millimetres]("-8 mm")
	assert.EqualError(t, err, `"-8 mm": a length is never negative`)
	_, err = Parse[Grams]("-1 g")
	assert.ErrorContains(t, err, "never negative")
	offset, err := Parse[Nanometres]("-1.5 nm")
	require.NoError(t, err)
	assert.EqualValues(t, -1.5, offset)
}

func TestLimits(t *testing.T) {
	_, err := ParsePositive[SquareCentimetres]("0 cm2")
	assert.EqualError(t, err, `"0 cm2" is not allowed; an area above 0 is needed`)
	_, err = ParseNotNegative[Volts]("-1 V")
	assert.EqualError(t, err, `"-1 V" is not allowed; a voltage of 0 or above is needed`)
	_, err = ParseWithin[Volts]("300 V", 1, 200)
	assert.EqualError(t, err, `"300 V" is out of range; allowed is 1 V to 200 V`)
	for _, edge := range []string{"1 V", "200 V"} {
		_, err = ParseWithin[Volts](edge, 1, 200)
		assert.NoError(t, err, edge)
	}
	_, err = ParsePositive[Volts]("1 A")
	assert.ErrorContains(t, err, "is a current")
}
