package unit

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func TestPlainNumbers(t *testing.T) {
	value, err := ParseNumber(" 0.95 ")
	require.NoError(t, err)
	assert.Equal(t, 0.95, value)
	for _, text := range []string{"", "NaN", "0x10", "1_0", "1e999", "5 V", "1,5", "inf"} {
		_, err := ParseNumber(text)
		assert.Error(t, err, text)
	}
}

func TestNumbersWithTheirOneUnit(t *testing.T) {
	value, err := ParseAs("4.43 g/cm³", "g/cm3")
	require.NoError(t, err)
	assert.Equal(t, 4.43, value)
	_, err = ParseAs("1.97", "nm/V")
	assert.EqualError(t, err, `"1.97" has no unit; a number in nm/V is needed`)
	_, err = ParseAs("1.97 nm", "nm/V")
	assert.EqualError(t, err, `"1.97 nm": unit "nm"; a number in nm/V is needed`)
	_, err = ParseAs("many nm/V", "nm/V")
	assert.ErrorContains(t, err, "does not begin with a plain number")
}
