package journal

import (
	"encoding/binary"
	"fmt"
	"math"
)

// The codings of a column of float64. Readings are decimals of the instrument's
// resolution, setpoints are whole steps, times advance evenly, and much stands
// still: each of these has its coding, and the last takes anything.
const (
	codeConstant = 0  // every value has the bits of the first: 8 bytes
	codeLine     = 1  // difference in bits from the straight line through the last two
	codeXOR      = 2  // difference in bits from the last value
	codeQuotient = 16 // + decimals: n / 10^decimals, differences of n
	codeProduct  = 32 // + decimals: n * 10^-decimals, which rounds otherwise
	mostDecimals = 6
	mostWhole    = 1 << 51 // whole numbers up to here are exact in a float64
)

// powers are the powers of ten as exact whole numbers; parts their nearest reciprocals.
var (
	powers = [mostDecimals + 1]float64{1, 1e1, 1e2, 1e3, 1e4, 1e5, 1e6}
	parts  = [mostDecimals + 1]float64{1, 1e-1, 1e-2, 1e-3, 1e-4, 1e-5, 1e-6}
)

func appendColumn(out []byte, values []float64) []byte {
	if constant(values) {
		return binary.LittleEndian.AppendUint64(append(out, codeConstant), math.Float64bits(values[0]))
	}
	best := appendDifferences([]byte{codeXOR}, values, last)
	if line := appendDifferences([]byte{codeLine}, values, straight); len(line) < len(best) {
		best = line
	}
	if decimal, ok := decimalColumn(values); ok && len(decimal) < len(best) {
		best = decimal
	}
	return append(out, best...)
}

func constant(values []float64) bool {
	for _, v := range values {
		if math.Float64bits(v) != math.Float64bits(values[0]) {
			return false
		}
	}
	return true
}

func readColumn(in []byte, count int) ([]float64, []byte, error) {
	if len(in) == 0 {
		return nil, nil, fmt.Errorf("%w: a column is missing", errBatch)
	}
	code, in := in[0], in[1:]
	switch {
	case code == codeConstant:
		return readConstant(in, count)
	case code == codeLine:
		return readDifferences(in, count, straight)
	case code == codeXOR:
		return readDifferences(in, count, last)
	case code >= codeQuotient && code <= codeQuotient+mostDecimals,
		code >= codeProduct && code <= codeProduct+mostDecimals:
		return readDecimals(in, count, code)
	}
	return nil, nil, fmt.Errorf("%w: column coding %d is not known here", errBatch, code)
}

func readConstant(in []byte, count int) ([]float64, []byte, error) {
	if len(in) < 8 {
		return nil, nil, fmt.Errorf("%w: a column is cut off", errBatch)
	}
	values := make([]float64, count)
	for i := range values {
		values[i] = math.Float64frombits(binary.LittleEndian.Uint64(in))
	}
	return values, in[8:], nil
}

// appendBytes codes a column of bytes: 0 and the one value, or 1 and all of them.
func appendBytes(out, values []byte) []byte {
	for _, v := range values {
		if v != values[0] {
			return append(append(out, 1), values...)
		}
	}
	return append(out, 0, values[0])
}

func readBytes(in []byte, count int) ([]byte, []byte, error) {
	values := make([]byte, count)
	switch {
	case len(in) >= 2 && in[0] == 0:
		for i := range values {
			values[i] = in[1]
		}
		return values, in[2:], nil
	case len(in) >= 1+count && in[0] == 1:
		copy(values, in[1:])
		return values, in[1+count:], nil
	}
	return nil, nil, fmt.Errorf("%w: a column of bytes is cut off or in a coding not known here", errBatch)
}
