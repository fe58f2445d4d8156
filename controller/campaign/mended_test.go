package campaign

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// TestMissesThatWereMended runs loads again whose fault was missed once, by their row of the
// acceptance.
func TestMissesThatWereMended(t *testing.T) {
	for _, m := range []struct {
		row   string
		seeds []uint64
		why   string
	}{
		{"bath-resistance-high", []uint64{11, 281}, "before the regression knew the resistance, its bend was told as parts that join, which keeps the resistance from being judged"},
		{"bath-resistance-low", []uint64{29, 79, 122}, "ten seconds of the hold were judged, in which a slow ramp leaves two thirds of its current"},
		{"mixed-rack", []uint64{74, 133, 240}, "the last two volts of the ramp were never judged: nothing followed that closed them"},
		{"mixed-rack", []uint64{202}, "the rise was held against a level that it had begun in"},
		{"mixed-rack", []uint64{90}, "the scatter of two volts was told as the overshoot of a part that is back"},
	} {
		a := rowOf(t, m.row)
		for _, seed := range m.seeds {
			r, err := Run(t.Context(), OneFault(seed, a.Injection, lawOfTests()))
			require.NoError(t, err)
			assert.Equal(t, AsItself, r.Verdict().Found, "%s of seed %d: %s", m.row, seed, m.why)
		}
	}
}
