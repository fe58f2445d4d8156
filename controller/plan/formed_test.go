package plan_test

import (
	"testing"

	"github.com/stretchr/testify/assert"

	"anodized/hal/unit"
	"anodized/profiles"
)

// A step up of 2, 3, 5 and 10 V draws a peak of only 10, 12, 20 and 48 % of the ramp's
// current (computed independently): contact is told by 30 % of that forecast, above the
// volts that the parts were formed to, and never at 8 V, where they draw nothing.
func TestTheContactCheckOfAFormedRackSitsAboveItsVolts(t *testing.T) {
	for step, peak := range map[unit.Volts]float64{2: 0.10, 3: 0.12, 5: 0.20, 10: 0.48} {
		r := quiet(t)
		bare := build(t, r)
		r.Rack.FormedTo, r.Profile.Target = 45, profiles.Target{Volts: 45 + step}
		p := build(t, r)
		check := p.ContactCheck
		assert.Equal(t, unit.Volts(45), check.FormedVolts)
		assert.Greater(t, check.Volts, unit.Volts(45))
		assert.Less(t, check.Volts, p.TargetVolts)
		share := float64(p.Expected.RampCurrent / bare.Expected.RampCurrent)
		t.Logf("+%v: %.2f of the ramp's current, by the figures %.2f; contact from %v on", step, share, peak, check.NoContact)
		assert.Less(t, share, 2*peak)
		assert.Greater(t, share, peak/2)
		assert.Less(t, check.NoContact, 0.31*p.Expected.RampCurrent, "a good rack passes it before its target")
		assert.Positive(t, check.NoContact)
	}
}
