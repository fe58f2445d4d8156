package fault_test

import (
	"testing"

	"github.com/stretchr/testify/assert"

	"anodized/controller/fault"
)

// TestBreakdownSaysNothingThatWasNotSeen: it is told from sparks and from volts that sag at
// the current limit as well, and what falls into the bath looks like it.
func TestBreakdownSaysNothingThatWasNotSeen(t *testing.T) {
	trip, _ := fault.TripByCode(fault.Breakdown)
	assert.NotContains(t, trip.Message, "constant")
	kind, _ := fault.KindByCode(fault.Breakdown)
	for _, confused := range [][]string{trip.Confused, kind.Confused} {
		assert.Contains(t, confused, "other metal that fell into the bath")
	}
	assert.Contains(t, trip.Action, "other metal")
}
