package mesh

import (
	"encoding/binary"
	"math"
	"math/bits"
)

// mostDigits of a number always fit into 64 bits.
const mostDigits = 19

// tens are the powers of ten that 64 bits hold.
var tens = func() (all [mostDigits + 1]uint64) {
	all[0] = 1
	for i := 1; i < len(all); i++ {
		all[i] = 10 * all[i-1]
	}
	return all
}()

// number reads a decimal number, -12.345 or 1.2345e+01, from the start of a text, to the
// nearest float as strconv does, and says how many bytes it took: a mesh of a million
// triangles has nine million of them. It takes none where the number is written otherwise,
// is far from 1, has more digits, or is none: that is for strconv.
func number(text []byte) (x float64, taken int) {
	i, negative := 0, false
	if len(text) > 0 && (text[0] == '-' || text[0] == '+') {
		i, negative = 1, text[0] == '-'
	}
	begin := i
	m, i := digits(text, i, 0)
	all, after := i-begin, 0
	if i < len(text) && text[i] == '.' {
		i++
		begin = i
		m, i = digits(text, i, m)
		after = i - begin
	}
	all += after
	power, i := exponent(text, i)
	if all == 0 || all > mostDigits || i < len(text) && !blank(text[i]) {
		return 0, 0
	}
	x, near := scaled(m, power-after)
	if !near {
		return 0, 0
	}
	if negative {
		x = -x
	}
	return x, i
}

// exponent reads e+01 where it stands there. What is no exponent is left, and is no end of
// a number.
func exponent(text []byte, i int) (power, end int) {
	if i+1 >= len(text) || text[i]|0x20 != 'e' {
		return 0, i
	}
	end, negative := i+1, text[i+1] == '-'
	if negative || text[end] == '+' {
		end++
	}
	begin := end
	for end < len(text) && end-begin < 4 && text[end]-'0' <= 9 {
		power = 10*power + int(text[end]-'0')
		end++
	}
	if end == begin {
		return 0, i
	}
	if negative {
		power = -power
	}
	return power, end
}

// digits goes on with a number, eight digits at a time where so many stand together.
// Past mostDigits the number is worthless.
func digits(text []byte, i int, m uint64) (uint64, int) {
	for i+8 <= len(text) {
		block := binary.LittleEndian.Uint64(text[i:])
		if !areDigits(block) {
			break
		}
		m = m*1e8 + eight(block)
		i += 8
	}
	for i < len(text) && text[i]-'0' <= 9 {
		m = m*10 + uint64(text[i]-'0')
		i++
	}
	return m, i
}

// areDigits tells whether each of eight bytes is a digit: 0x30 to 0x39, so that neither
// its upper half differs from 3, nor adding 6 moves it out of there.
func areDigits(block uint64) bool {
	const upper, threes, sixes = 0xf0f0f0f0f0f0f0f0, 0x3030303030303030, 0x0606060606060606
	return block&upper == threes && (block+sixes)&upper == threes
}

// eight is the value of eight digits, the first in the lowest byte: pairs, then fours, then
// all are put together side by side.
func eight(block uint64) uint64 {
	block -= 0x3030303030303030
	block = block*10 + block>>8
	const lanes = 0x000000ff000000ff
	return ((block&lanes)*(100+1000000<<32) + (block>>16&lanes)*(1+10000<<32)) >> 32
}

// scaled is m times ten to a power, to the nearest float; near is false where the power is
// too far for that. Powers of ten up to mostDigits are floats, so where m is one, too, the
// machine rounds once.
func scaled(m uint64, power int) (x float64, near bool) {
	switch exact := m < 1<<53; {
	case power < -mostDigits || power > mostDigits:
		return 0, false
	case power == 0:
		return float64(m), true
	case exact && power > 0:
		return float64(m) * float64(tens[power]), true
	case exact:
		return float64(m) / float64(tens[-power]), true
	case power > 0:
		return 0, false
	}
	return over(m, tens[-power]), true
}

// over is m over d, to the nearest float: the quotient has 62 bits at least, and one that
// stands for the rest below them decides a tie.
func over(m, d uint64) float64 {
	up, down := bits.LeadingZeros64(m), bits.LeadingZeros64(d)
	m, d = m<<up, d<<down
	quotient, rest := bits.Div64(m>>1, m<<63, d)
	if rest != 0 {
		quotient |= 1
	}
	return float64(quotient) * math.Float64frombits(uint64(1023-63+down-up)<<52)
}
