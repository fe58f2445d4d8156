package journal

import (
	"encoding/binary"
	"fmt"
	"math"
	"math/bits"
)

// A guess foretells the next value from the values before it.
type guess func(before []float64) uint64

func last(before []float64) uint64 {
	if len(before) == 0 {
		return 0
	}
	return math.Float64bits(before[len(before)-1])
}

// straight goes on along the line through the last two. Doubling is exact, so the
// sum rounds once and alike on every machine; where it is no number, whose bits
// machines differ in, the last value is the guess.
func straight(before []float64) uint64 {
	if len(before) < 2 {
		return last(before)
	}
	a, b := before[len(before)-2], before[len(before)-1]
	twice := float64(2 * b)
	if line := float64(twice - a); !math.IsNaN(line) {
		return math.Float64bits(line)
	}
	return last(before)
}

// appendDifferences writes, for each value, one byte with the number of zero bytes
// before and after what differs, and then what differs.
func appendDifferences(out []byte, values []float64, next guess) []byte {
	for i, v := range values {
		out = appendDifference(out, math.Float64bits(v)^next(values[:i]))
	}
	return out
}

func appendDifference(out []byte, difference uint64) []byte {
	lead, trail := bits.LeadingZeros64(difference)/8, bits.TrailingZeros64(difference)/8
	if difference == 0 {
		lead, trail = 8, 0
	}
	out = append(out, byte(lead<<4|trail))
	var whole [8]byte
	binary.BigEndian.PutUint64(whole[:], difference)
	return append(out, whole[lead:8-trail]...)
}

func readDifferences(in []byte, count int, next guess) ([]float64, []byte, error) {
	values := make([]float64, count)
	for i := range values {
		difference, rest, err := readDifference(in)
		if err != nil {
			return nil, nil, err
		}
		values[i] = math.Float64frombits(difference ^ next(values[:i]))
		in = rest
	}
	return values, in, nil
}

func readDifference(in []byte) (uint64, []byte, error) {
	if len(in) == 0 {
		return 0, nil, fmt.Errorf("%w: a column is cut off", errBatch)
	}
	lead, trail := int(in[0]>>4), int(in[0]&15)
	size := 8 - lead - trail
	if size < 0 || len(in) < 1+size {
		return 0, nil, fmt.Errorf("%w: a value is cut off", errBatch)
	}
	var whole [8]byte
	copy(whole[lead:], in[1:1+size])
	return binary.BigEndian.Uint64(whole[:]), in[1+size:], nil
}
