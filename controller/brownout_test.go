package controller

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"anodized/controller/record"
	"anodized/hal/virtual"
)

func TestNoLoadWhileTheBoardHasTooLittleVoltage(t *testing.T) {
	for name, c := range map[string]struct {
		low  func() bool
		want record.Outcome
	}{
		"under-voltage": {func() bool { return true }, record.Refused},
		"enough":        {func() bool { return false }, record.Complete},
		"not judged":    {nil, record.Complete},
	} {
		bench, err := virtual.New(virtual.Setup{Seed: 3, Parts: []virtual.Part{{Area: 25, Count: 8}}})
		require.NoError(t, err)
		s := New(Devices{Supply: bench.Supply(), Interlock: bench.Interlock(), Simulated: true}, bench, &shelf{}, quiet(),
			Options{ClockWaits: true, UnderVoltage: c.low})
		res := through(t, s, straw())
		require.Equal(t, c.want, res.Outcome, name)
		assert.Equal(t, c.want == record.Complete, bench.Truth().Energised, name)
		if c.want == record.Refused {
			assert.Contains(t, res.Reasons[0], "this computer reports under-voltage")
		}
	}
}
