package watch_test

import (
	"testing"

	"anodized/controller/fault"
	"anodized/profiles"

	"github.com/stretchr/testify/assert"
)

// ofDevices are the codes that no curve decides: the manual says of them that nothing can be
// moved.
var ofDevices = fault.Of(fault.EmergencyStop, fault.InterlockOpen, fault.InterlockDisagrees, fault.VentilationLost, fault.ContactorStuck,
	fault.OutputStuckOn, fault.ControlAbsent, fault.SupplySilent, fault.SupplyOutOfStep, fault.SupplyDisobeys, fault.SupplyTouched,
	fault.SupplyTripped, fault.SupplyRestarted, fault.IllegalEvent, fault.NotAnswered)

// ofTheRecord are findings that say how a run was kept, not what it did.
var ofTheRecord = []fault.Code{fault.RowsDropped, fault.JournalUnwritable, fault.JournalSlow, fault.TickLate, fault.ContactNotProven,
	fault.ClockStepped, fault.ClockNotSet}

// TestEveryDetectorOfTheCurveIsListed: profile and manual say of each what may be moved.
func TestEveryDetectorOfTheCurveIsListed(t *testing.T) {
	codes := map[string]bool{}
	for _, trip := range fault.Trips() {
		codes[string(trip.Code)] = !ofDevices.Has(trip.Code)
	}
	for _, kind := range fault.Kinds() {
		codes[string(kind.Code)] = true
	}
	for _, code := range ofTheRecord {
		codes[string(code)] = false
	}
	listed := map[string]bool{}
	for _, d := range profiles.Detectors() {
		assert.True(t, codes[d.Code], d.Code)
		listed[d.Code] = true
	}
	for code, is := range codes {
		assert.Equal(t, is, listed[code], code)
	}
}
