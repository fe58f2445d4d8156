package onewire

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"anodized/hal"
	_ "anodized/hal/haltest/draw" // the same cases on each run
)

// TestCheckSums: the example of 1-Wire application note 27, the ROM code in
// periph's documentation, and the check value of CRC-8/MAXIM.
func TestCheckSums(t *testing.T) {
	for text, want := range map[string]byte{
		"\x02\x1C\xB8\x01\x00\x00\x00": 0xA2,
		"\x28\x52\x82\x31\x01\x00\x00": 0x7A,
		"123456789":                    0xA1,
	} {
		assert.Equal(t, want, crc8([]byte(text)), "% X", text)
	}
}

// TestTemperatureCodes: the table of the DS18B20 data sheet (from memory).
func TestTemperatureCodes(t *testing.T) {
	for code, want := range map[uint16]float64{
		0x07D0: 125, 0x0550: 85, 0x0191: 25.0625, 0x00A2: 10.125, 0x0008: 0.5, 0x0000: 0,
		0xFFF8: -0.5, 0xFF5E: -10.125, 0xFE6F: -25.0625, 0xFC90: -55,
	} {
		celsius, err := withSum(code, 0x10).celsius()
		require.NoError(t, err)
		require.InDelta(t, want, float64(celsius), 0)
	}
}

// withSum is a scratchpad at 12 bits with the given code and byte 6, its sum right.
func withSum(code uint16, byte6 byte) scratchpad {
	s := scratchpad{byte(code), byte(code >> 8), 0x4B, 0x46, 0x7F, 0xFF, byte6, 0x10}
	s[8] = crc8(s[:8])
	return s
}

// TestRejects: contents whose check sum is right and which are no temperature.
func TestRejects(t *testing.T) {
	for name, pad := range map[string]scratchpad{
		"check sum":            {0x72, 0x01, 0x4B, 0x46, 0x7F, 0xFF, 0x0E, 0x10, 0x58},
		"configuration byte":   {}, // all zeros: a bus held low; its check sum is 0 and so right
		"85 °C of power-up":    {0x50, 0x05, 0x4B, 0x46, 0x7F, 0xFF, 0x0C, 0x10, 0x1C},
		"no power":             withSum(0x07FF, 0x01),
		"outside the chip":     withSum(0x0900, 0x10),
		"check sum FF, comput": {0xFF, 0xFF, 0xFF, 0xFF, 0xFF, 0xFF, 0xFF, 0xFF, 0xFF},
	} {
		_, err := pad.celsius()
		require.ErrorIs(t, err, hal.ErrNoReading, name)
		require.ErrorContains(t, err, name)
	}
	good := scratchpad{0x72, 0x01, 0x4B, 0x46, 0x7F, 0xFF, 0x0E, 0x10, 0x57}
	celsius, err := good.celsius()
	require.NoError(t, err)
	require.InDelta(t, 23.125, float64(celsius), 0)
}

// TestOneFlippedBitIsRejected: the check sum finds every single wrong bit.
func TestOneFlippedBitIsRejected(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		code := rapid.Int16Range(-55*16, 125*16).Draw(t, "code")
		pad := withSum(uint16(code), 0x0E)
		bit := rapid.IntRange(0, 71).Draw(t, "bit")
		pad[bit/8] ^= 1 << (bit % 8)
		_, err := pad.celsius()
		require.ErrorIs(t, err, hal.ErrNoReading)
	})
}
