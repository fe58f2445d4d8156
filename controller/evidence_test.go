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

// TestEveryTripOfALoadSaysItsNumbers: what was read, and against what it was judged.
func TestEveryTripOfALoadSaysItsNumbers(t *testing.T) {
	for id, c := range map[string]struct {
		fault virtual.Fault
		says  string
	}{
		"short-circuit":        {virtual.Fault{ID: "short-circuit", At: virtual.AtVolts(30)}, `^[0-9.]+ V and [0-9.]+ A are read, the current limit is 1 A; the film had grown to [23][0-9.]+ V$`},
		"over-voltage":         {virtual.Fault{ID: "setpoint-gain", At: virtual.AtVolts(30), Size: 1.05}, `^3[0-9.]+ V and .* A are read, 30[0-9.]* V were set, the ceiling of the plan is 70.7 V$`},
		"no-contact":           {virtual.Fault{ID: "no-contact"}, `^[78][0-9.]* V and -?[0-9.e-]+ A are read; 0.017 A are wanted$`},
		"supply-not-following": {virtual.Fault{ID: "setpoint-not-followed", At: virtual.AtVolts(30)}, ` V were set, the current limit is 1 A$`},
		"readback-stuck":       {virtual.Fault{ID: "readback-stuck", At: virtual.AtVolts(30)}, ` V were set, the current limit is 1 A$`},
		"contact-lost":         {virtual.Fault{ID: "contact-lost", At: virtual.AtVolts(35)}, `^current fell to 0.[0-9]+ of what it should be at 3[0-9.]+ V: about 1 of 8 parts$`},
		"breakdown":            {virtual.Fault{ID: "breakdown", At: virtual.AtVolts(40)}, ` V`},
	} {
		t.Run(id, func(t *testing.T) {
			s, _, _ := hung(t, 1, c.fault)
			res := through(t, s, spacers())
			require.NotNil(t, res.Trip)
			require.Equal(t, fault.Code(id), res.Trip.Code)
			require.Len(t, res.Trip.Evidence, 1, res.Trip.Message)
			assert.Regexp(t, c.says, res.Trip.Evidence[0])
			assert.Contains(t, res.Trip.Message, res.Trip.Evidence[0])
		})
	}
}
