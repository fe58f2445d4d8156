package campaign_test

import (
	"testing"

	"github.com/stretchr/testify/assert"

	"anodized/controller/campaign"
	"anodized/controller/fault"
)

// TestWhatAFaultIsTakenForSaysSo: where the report counts a trip as a look-alike of a fault,
// the person at the bench reads in that trip that it could be this fault.
func TestWhatAFaultIsTakenForSaysSo(t *testing.T) {
	for _, in := range campaign.Injections() {
		for _, like := range in.Like {
			if trip, trips := fault.TripByCode(like); trips && like != in.Code {
				assert.True(t, trip.Resembles(in.Code, true), "%s is found as %s, which does not name %s", in.ID, like, in.Code)
			}
		}
	}
}
