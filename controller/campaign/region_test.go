package campaign

import (
	"testing"
	"time"

	"anodized/controller/record"
	"anodized/hal/virtual"

	"github.com/stretchr/testify/assert"
)

// TestWhereMetalAndSpoiltAnswersMustBeSeen, by hand: 1.8 V and 0.5 A through 10 + 4 ohm are 8.8 V.
func TestWhereMetalAndSpoiltAnswersMustBeSeen(t *testing.T) {
	c := sound()
	c.First = "foreign-metal"
	c.Setup.Faults = []virtual.Fault{{ID: c.First, Size: 10}}
	c.Setup.Parameters.Cell.LeadOhms, c.Setup.Parameters.Cell.BathOhms = 1, 3
	r := Report{Case: c}
	r.Plan.CurrentLimit, r.Plan.TargetVolts = 0.5, 8.9
	assert.True(t, takesTheLimit(r))
	r.Plan.TargetVolts = 8.7
	assert.False(t, takesTheLimit(r), "the target does not drive the limit through it")

	r.Case.First = "merged-reply"
	r.Case.Setup.Faults = []virtual.Fault{{ID: "merged-reply", For: 2 * time.Second}}
	seconds := 101.5
	r.Onset, r.Result.EnergisedSeconds = 100, &seconds
	seen := spoilt("merged-reply").region
	assert.True(t, seen(r))
	seconds = 100.1
	assert.False(t, seen(r), "the load was over as it began")
	r.Result.Outcome = record.Tripped
	assert.True(t, seen(r), "a trip ends it")
	r.Case.Setup.Faults[0].For = time.Second
	assert.False(t, seen(r), "too short")
}
