package campaign_test

import (
	"testing"

	"anodized/controller/campaign"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// TestFaultsThatWereMissedOnceAreFound: a contactor that welds while the cell discharges
// shows after the power, and metal that falls in may do so in a hold below the volts at
// which a film sparks.
func TestFaultsThatWereMissedOnceAreFound(t *testing.T) {
	for seed, inside := range map[uint64]bool{
		3692: true,
		2112: false, // the target drives a little less than the limit through the metal: nothing is asked
	} {
		r, err := campaign.Run(t.Context(), campaign.Draw(seed, surface()))
		require.NoError(t, err)
		v := r.Verdict()
		assert.Equal(t, inside, v.Inside, "seed %d", seed)
		assert.Equal(t, campaign.AsItself, v.Found, "seed %d", seed)
		assert.Less(t, v.Latency, r.Case.Injection.Bound, "seed %d", seed)
	}
}
