package journal

import (
	"encoding/binary"
	"fmt"
	"math"
)

// decimalColumn codes values that are decimals to the bit, in the fewest decimals
// that hold them all. Minus zero, NaN and infinity are no decimals.
func decimalColumn(values []float64) ([]byte, bool) {
	for decimals := range powers {
		for _, code := range []byte{codeQuotient, codeProduct} {
			code += byte(decimals)
			if whole, ok := wholeNumbers(values, code); ok {
				return appendWhole([]byte{code}, whole), true
			}
		}
	}
	return nil, false
}

func wholeNumbers(values []float64, code byte) ([]int64, bool) {
	whole := make([]int64, len(values))
	for i, v := range values {
		n := math.Round(v * powers[code&15])
		if !(math.Abs(n) < mostWhole) {
			return nil, false
		}
		whole[i] = int64(n)
		if math.Float64bits(decimalValue(whole[i], code)) != math.Float64bits(v) {
			return nil, false
		}
	}
	return whole, true
}

// decimalValue is one correctly rounded operation, hence the same everywhere.
func decimalValue(n int64, code byte) float64 {
	if code >= codeProduct {
		return float64(n) * parts[code-codeProduct]
	}
	return float64(n) / powers[code-codeQuotient]
}

func appendWhole(out []byte, whole []int64) []byte {
	var before int64
	for _, n := range whole {
		out = binary.AppendVarint(out, n-before)
		before = n
	}
	return out
}

func readDecimals(in []byte, count int, code byte) ([]float64, []byte, error) {
	values := make([]float64, count)
	var n int64
	for i := range values {
		step, size := binary.Varint(in)
		if size <= 0 {
			return nil, nil, fmt.Errorf("%w: a column is cut off", errBatch)
		}
		n += step
		values[i] = decimalValue(n, code)
		in = in[size:]
	}
	return values, in, nil
}
