package fault_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"pgregory.net/rapid"

	"anodized/controller/fault"
)

func TestSetOfTrips(t *testing.T) {
	none := fault.Of("", fault.LeakPlateau, "no-such-code")
	assert.Zero(t, none, "only trips are in it")
	assert.Equal(t, fault.Code(""), none.First())
	assert.Nil(t, none.Codes())
	some := fault.Of(fault.ContactLost, fault.EmergencyStop, fault.SupplySilent)
	assert.Equal(t, fault.EmergencyStop, some.First())
	assert.Equal(t, []fault.Code{fault.EmergencyStop, fault.SupplySilent, fault.ContactLost}, some.Codes())
	assert.True(t, some.Has(fault.SupplySilent))
	assert.False(t, some.Without(fault.SupplySilent).Has(fault.SupplySilent))
	assert.False(t, some.Has(""))
}

// TestFirstOfASetIsTheFirstCause: whatever comes in one tick, in whatever order, the
// cause is the one that stands highest in the table, and none of the others is lost.
func TestFirstOfASetIsTheFirstCause(t *testing.T) {
	all := fault.Trips()
	rapid.Check(t, func(t *rapid.T) {
		picked := rapid.SliceOf(rapid.SampledFrom(all)).Draw(t, "trips")
		set, first, codes := fault.Set(0), fault.Code(""), map[fault.Code]bool{}
		for _, trip := range picked {
			set, first, codes[trip.Code] = set.With(trip.Code), fault.First(first, trip.Code), true
		}
		if set.First() != first || len(set.Codes()) != len(codes) {
			t.Fatalf("%v: first %q and %d trips, want %q and %d", set.Codes(), set.First(), len(set.Codes()), first, len(codes))
		}
	})
}
