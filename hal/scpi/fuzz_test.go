package scpi

import (
	"math"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"anodized/hal"
)

// FuzzMeasure: whatever comes back, it is an error and no number, or a plausible
// sample in a mode.
func FuzzMeasure(f *testing.F) {
	for _, seed := range []string{"1;2;3\n", "+1.2E+01;9.91E37;2\n", "1\n2\n3\n", "\r\n\n;;\n", "1;2;3\n4;5;6\n", "\"1;2\n3;4\n"} {
		f.Add([]byte(seed))
	}
	f.Fuzz(func(t *testing.T, reply []byte) {
		s, c := cannedSupply(t)
		s.dialect.Timeout = time.Millisecond
		c.answers[string(s.measure.alone)] = reply
		sample, err := s.Measure(t.Context())
		if err != nil {
			require.True(t, math.IsNaN(float64(sample.Volts)) && math.IsNaN(float64(sample.Amperes)))
			return
		}
		require.True(t, sample.Volts >= leastPlausible && sample.Volts <= mostPlausible*120)
		require.True(t, sample.Amperes >= leastPlausible && sample.Amperes <= mostPlausible*5)
		require.NotEqual(t, hal.ModeUnknown, sample.Mode)
	})
}
