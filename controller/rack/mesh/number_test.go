package mesh

import (
	"math/rand/v2"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// What the fast reader takes is what strconv reads, to the last bit.
func TestNumbersAreThoseOfStrconv(t *testing.T) {
	same := func(t require.TestingT, text string) int {
		x, taken := number([]byte(text + " 7"))
		if taken > 0 {
			want, err := strconv.ParseFloat(text, 64)
			require.NoError(t, err, text)
			require.Equal(t, want, x, text)
			require.Equal(t, len(text), taken, text)
		}
		return taken
	}
	for _, text := range []string{"0", "-0", "+1.5", "1.", ".5", "9007199254740993", "9007199254740993.0", "0.1", "12.345678901234567",
		"9223372036854775807", "9999999999999999999", ".9999999999999999999", "0.999999999999999999", "1.8446744073709551", "00000000012.50", "49.99999999999999",
		"0.500000000000000028", "1.000000000000000222", "1.000000000000000111", "4503599627370497.5", "9007199254740993.5",
		"2.648000e-002", "-1.2345678E+01", "1e3", "5e0", "1.7976931348623157e1", "12345678901234567e-10", "9007199254740991e19", "0e-5"} {
		assert.Positive(t, same(t, text), text)
	}
	for _, text := range []string{"", "-", "+", ".", "-.", "e5", "1e", "1e+", "1e-", "1e5e", "1e12345", "1e-30", "12345678901234567e3", "12.3456789012345678901", "1,5", "nan", "Inf", "0x1p3", "1.2.3", "--1", "1_000", "12345678a"} {
		_, taken := number([]byte(text))
		assert.Zero(t, taken, text)
	}
	draw, long := rand.New(rand.NewPCG(1, 2)), 0
	for range 100_000 {
		digits := strconv.FormatUint(draw.Uint64()>>draw.IntN(64), 10)
		point := draw.IntN(len(digits) + 1)
		if same(t, digits[:point]+"."+digits[point:]) > 17 {
			long++
		}
		same(t, strconv.FormatFloat(200*draw.Float64()-100, 'f', -1, 64))
		single := float64(float32(200*draw.Float64() - 100))
		same(t, strconv.FormatFloat(single, 'f', -1, 64))
		same(t, strconv.FormatFloat(single, 'e', 6+draw.IntN(12), 64))
	}
	assert.Greater(t, long, 1000, "numbers whose quotient has to be rounded were among them")
}

// Each byte beside a digit spoils a block of eight, wherever it stands.
func TestBlocksOfEightDigits(t *testing.T) {
	for place := range 8 {
		for c := range 256 {
			text := []byte("12345678")
			text[place] = byte(c)
			m, end := digits(text, 0, 0)
			whole := c >= '0' && c <= '9'
			assert.Equal(t, whole, end == 8, "%q", text)
			if whole {
				want, err := strconv.ParseUint(string(text), 10, 64)
				require.NoError(t, err)
				assert.Equal(t, want, m, "%q", text)
			}
		}
	}
	assert.Equal(t, uint64(99999999), eightOf("99999999"))
}

func eightOf(text string) uint64 {
	m, _ := digits([]byte(strings.Clone(text)), 0, 0)
	return m
}
