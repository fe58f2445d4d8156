package controller

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"anodized/controller/fault"
	"anodized/controller/process"
	"anodized/hal"
	"anodized/hal/unit"
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
		"interlock-gone":      {fault.InterlockOpen, "The lid switch could not be read, which counts as open. Seen: no channel of the lid switch was read for 0.60 s: its input does not answer"},
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

// TestLateWordsSayWhereTheTimeWent: before a tick, in it, or since something was read.
func TestLateWordsSayWhereTheTimeWent(t *testing.T) {
	for says, at := range map[string]struct {
		late, began, decided, lid, stop unit.Seconds
		fitted                          bool
	}{
		"this tick came 1.05 s late":                                        {late: 1.05, began: 9, decided: 9.02, lid: 9.01},
		"this tick had read its devices 1.02 s after it began":              {began: 9, decided: 10.02, lid: 10, stop: 10, fitted: true},
		"the lid was read closed 0.60 s before the tick was decided":        {began: 9, decided: 9.62, lid: 9.02, stop: 9.6, fitted: true},
		"the emergency stop was read released 0.60 s before the tick was d": {began: 9, decided: 9.62, lid: 9.61, stop: 9.02, fitted: true},
	} {
		s := newStand(0, Options{})
		s.owner.late, s.owner.at = at.late, at.began
		s.owner.input.Now, s.owner.input.Interlock.At = at.decided, at.lid
		s.owner.input.EmergencyStop.Fitted, s.owner.input.EmergencyStop.At = at.fitted, at.stop
		assert.Contains(t, s.lateWords(), says)
	}
}

// TestWhatWasNotReadIsNotSaidToHaveMoved: for how long, how much of it is of this computer's
// making, and why, where that is known.
func TestWhatWasNotReadIsNotSaidToHaveMoved(t *testing.T) {
	s := newStand(0, Options{})
	o := &s.owner
	o.input.Now, o.stoodFor, o.lidError = 10, 0.45, hal.ErrTimeout
	o.input.Interlock = process.Interlock{At: 9.38}
	o.input.EmergencyStop = process.EmergencyStop{Fitted: true, At: 9.3}
	assert.Equal(t, sight{"The lid switch could not be read, which counts as open.",
		"no channel of the lid switch was read for 0.62 s, of which this computer stood still for 0.45 s: its input does not answer: " + hal.ErrTimeout.Error()}, s.sightOf(fault.InterlockOpen))
	assert.Equal(t, sight{"The emergency stop could not be read, which counts as pressed.",
		"no contact of the emergency stop was read for 0.70 s, of which this computer stood still for 0.45 s"}, s.sightOf(fault.EmergencyStop))
}
