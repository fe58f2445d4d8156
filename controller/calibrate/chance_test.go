package calibrate

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
)

// Critical values of Fisher's F and Student's t from the tables of the NIST/SEMATECH
// e-Handbook of Statistical Methods, 1.3.6.7 (from memory).
func TestChances(t *testing.T) {
	for _, c := range []struct{ f, top, bottom, chance float64 }{
		{3.098, 3, 20, 0.05}, {4.938, 3, 20, 0.01}, {9.277, 3, 3, 0.05}, {2.606, 4, 60, 0.0444}, {4.965, 1, 10, 0.05},
	} {
		assert.InDelta(t, c.chance, above(c.f, c.top, c.bottom), 2e-4, "%+v", c)
	}
	assert.InDelta(t, 0.05, above(2.228*2.228, 1, 10), 2e-4)
	assert.Equal(t, 1.0, above(0, 3, 10))
	assert.Equal(t, 1.0, beta(1, 2, 3))
	assert.Zero(t, beta(0, 2, 3))
	assert.InDelta(t, 0.5, beta(0.5, 7, 7), 1e-12)
}

// The factors of JCGM 100:2008, table G.2, for 95.45 %: 13.97, 3.31, 2.65, 2.28, 2.13,
// 2.06 at 1, 4, 7 (2.43), 10, 20 and 40 degrees of freedom (from memory).
func TestStudentsFactor(t *testing.T) {
	for freedom, factor := range map[float64]float64{1: 13.97, 2: 4.53, 3: 3.31, 4: 2.87, 5: 2.65, 7: 2.43, 10: 2.28, 20: 2.13, 40: 2.06} {
		assert.InDelta(t, factor, 2*studentFactor(freedom), 0.006, "%g", freedom)
	}
	assert.InDelta(t, 2, 2*studentFactor(1e6), 1e-4)
	assert.InDelta(t, math.Erfc(math.Sqrt2), twoSigma, 1e-12)
}
