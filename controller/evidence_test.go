package controller

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"anodized/controller/fault"
	"anodized/hal/virtual"
)

// TestTripSaysWhatWasSeen: the number of an error, the channel that is open, whether a
// supply says nothing or nothing of use.
func TestTripSaysWhatWasSeen(t *testing.T) {
	for id, c := range map[string]struct {
		code fault.Code
		says string
	}{
		"instrument-error":    {fault.SupplyDisobeys, "-310"},
		"no-reading":          {fault.SupplySilent, "The supply answers without a reading"},
		"interlock-disagrees": {fault.InterlockOpen, "channel 2 is open, channel 1 closed"},
		"interlock-gone":      {fault.InterlockOpen, "the input module of the lid switch does not answer"},
		"panel-touched":       {fault.SupplyTouched, "and was left at"},
		"supply-tripped":      {fault.SupplyTripped, "over-temperature"},
	} {
		t.Run(id, func(t *testing.T) {
			s, _, _ := hung(t, 1, virtual.Fault{ID: id, At: virtual.AfterOn(5)})
			res := through(t, s, straw())
			require.NotNil(t, res.Trip)
			assert.Equal(t, c.code, res.Trip.Code)
			assert.Contains(t, res.Trip.Message, c.says)
			require.NotEmpty(t, res.Trip.Evidence)
			assert.Equal(t, "off", res.Output)
		})
	}
}
