package journal

import (
	"encoding/binary"
	"hash/crc32"
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"anodized/controller/record"
	_ "anodized/hal/haltest/draw" // the same cases on each run
	"anodized/hal/unit"
)

// oddValues are what a column of floats may hold at worst.
var oddValues = []float64{0, math.Copysign(0, -1), 1, -1, 0.1, 0.1 + 0.2, 1e-320, math.SmallestNonzeroFloat64,
	math.MaxFloat64, -math.MaxFloat64, math.Inf(1), math.Inf(-1), math.NaN(), math.Pi, 12.345, 1e15, 1e16, 1 << 53,
	math.Float64frombits(0x7ff0000000000001), math.Float64frombits(0xfff8dead0000beef)}

func TestBatchKeepsEveryBit(t *testing.T) {
	odd := make([]record.Row, len(oddValues))
	for i, v := range oddValues {
		odd[i] = record.Row{T: unit.Seconds(v), Volts: unit.Volts(-v), Amperes: unit.Amperes(v / 3), Set: unit.Volts(v * 7),
			Limit: 1, Bath: unit.Celsius(v), Mode: uint8(i), State: 255, Output: uint8(i % 2)}
	}
	for name, rows := range map[string][]record.Row{
		"one row": sampleRows(0, 1), "a second": sampleRows(100, 10), "the most": sampleRows(-20, mostBatchRows), "odd values": odd,
	} {
		t.Run(name, func(t *testing.T) {
			got, err := decodeBatch(encodeBatch(rows))
			require.NoError(t, err)
			requireRows(t, rows, got)
		})
	}
}

func TestSecondOfReadingsIsSmall(t *testing.T) {
	for name, first := range map[string]int{"ramp": 300, "hold": 900} {
		assert.Lessf(t, len(encodeBatch(sampleRows(first, 10))), 120, "ten rows of the %s", name)
	}
}

func TestColumnTakesTheShortestCoding(t *testing.T) {
	tenth := 0.1 // no constant: three of them are 0.30000000000000004
	for name, test := range map[string]struct {
		values []float64
		code   byte
	}{
		"still":                     {[]float64{1.1125, 1.1125, 1.1125}, codeConstant},
		"no reading":                {[]float64{math.NaN(), math.NaN()}, codeConstant},
		"even ticks of a third":     {[]float64{1. / 3, 2. / 3, 3. / 3, 4. / 3, 5. / 3}, codeLine},
		"two decimals":              {[]float64{12.34, 12.35, 12.33}, codeQuotient + 2},
		"whole steps of a tenth":    {[]float64{3 * tenth, 7 * tenth, 3 * tenth}, codeProduct + 1},
		"minus zero is no decimal":  {[]float64{math.Copysign(0, -1), 1}, codeXOR},
		"anything":                  {[]float64{math.Pi, math.E, math.Sqrt2}, codeXOR},
		"a NaN among the readings":  {[]float64{12.34, math.NaN(), 12.34}, codeXOR},
		"more decimals than it has": {[]float64{1e-7, 3e-7}, codeXOR},
	} {
		assert.Equal(t, test.code, appendColumn(nil, test.values)[0], name)
	}
}

func TestBatchRoundTripProperty(t *testing.T) {
	value := rapid.OneOf(rapid.Float64(), rapid.SampledFrom(oddValues),
		rapid.Custom(func(t *rapid.T) float64 { return math.Float64frombits(rapid.Uint64().Draw(t, "bits")) }),
		rapid.Custom(func(t *rapid.T) float64 { return float64(rapid.IntRange(-99999, 99999).Draw(t, "n")) / 1000 }),
		rapid.Custom(func(t *rapid.T) float64 { return float64(rapid.IntRange(-99999, 99999).Draw(t, "n")) * 0.01 }))
	row := rapid.Custom(func(t *rapid.T) record.Row {
		var row record.Row
		for _, column := range floatColumns {
			*column(&row) = value.Draw(t, "float")
		}
		for _, column := range byteColumns {
			*column(&row) = rapid.Uint8().Draw(t, "byte")
		}
		return row
	})
	rapid.Check(t, func(r *rapid.T) {
		rows := rapid.SliceOfN(row, 1, 40).Draw(r, "rows")
		got, err := decodeBatch(encodeBatch(rows))
		require.NoError(r, err)
		require.Len(r, got, len(rows))
		for i := range rows {
			for _, column := range floatColumns {
				require.Equal(r, math.Float64bits(*column(&rows[i])), math.Float64bits(*column(&got[i])))
			}
			require.Equal(r, [3]uint8{rows[i].Mode, rows[i].State, rows[i].Output}, [3]uint8{got[i].Mode, got[i].State, got[i].Output})
		}
	})
}

func TestDamagedBatchIsRefused(t *testing.T) {
	whole := encodeBatch(sampleRows(0, 10))
	for i := range whole {
		_, err := decodeBatch(whole[:i])
		require.ErrorIs(t, err, errBatch, "cut off at %d", i)
		for bit := range 8 {
			flipped := append([]byte{}, whole...)
			flipped[i] ^= 1 << bit
			_, err := decodeBatch(flipped)
			require.ErrorIs(t, err, errBatch, "byte %d, bit %d", i, bit)
		}
	}
}

// sealed gives bytes a good check sum, so that what is behind it is reached.
func sealed(body ...byte) []byte {
	return binary.LittleEndian.AppendUint32(body, crc32.Checksum(body, castagnoli))
}

func TestBatchWithAGoodSumAndBadContentIsRefused(t *testing.T) {
	for message, blob := range map[string][]byte{
		"coding 3 is not known":         sealed(3, 1),
		"it says 0 rows":                sealed(codecVersion, 0),
		"it says 1025 rows":             sealed(codecVersion, 0x81, 8),
		"a column is missing":           sealed(codecVersion, 1),
		"column coding 3 is not known":  sealed(codecVersion, 1, 3),
		"column coding 23 is not known": sealed(codecVersion, 1, codeQuotient+mostDecimals+1),
		"a column is cut off":           sealed(codecVersion, 1, codeConstant, 1, 2, 3),
		"a value is cut off":            sealed(codecVersion, 1, codeXOR, 0x99),
	} {
		_, err := decodeBatch(blob)
		require.ErrorIs(t, err, errBatch)
		require.ErrorContains(t, err, message)
	}
}

func FuzzDecodeBatch(f *testing.F) {
	f.Add(encodeBatch(sampleRows(0, 1)))
	f.Add(encodeBatch(sampleRows(100, 10)))
	f.Add([]byte{codecVersion, 1})
	f.Fuzz(func(t *testing.T, blob []byte) {
		for _, candidate := range [][]byte{blob, sealed(append([]byte{}, blob...)...)} {
			rows, err := decodeBatch(candidate)
			if err != nil {
				require.ErrorIs(t, err, errBatch)
				continue
			}
			again, err := decodeBatch(encodeBatch(rows))
			require.NoError(t, err)
			requireRows(t, rows, again)
		}
	})
}
