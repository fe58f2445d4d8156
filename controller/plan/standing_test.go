package plan_test

import (
	"testing"

	"github.com/stretchr/testify/assert"

	"anodized/controller/plan"
	"anodized/profiles"
)

func TestStandingOfACalibration(t *testing.T) {
	for name, c := range map[string]struct {
		change func(*profiles.Calibration)
		today  string
		want   plan.Standing
		why    string
	}{
		"of today":           {func(*profiles.Calibration) {}, "2026-03-02", plan.StandingGood, ""},
		"of thirty days":     {func(*profiles.Calibration) {}, "2026-04-01", plan.StandingGood, ""},
		"of a day more":      {func(*profiles.Calibration) {}, "2026-04-02", plan.StandingStale, "31 days old"},
		"still to come":      {func(*profiles.Calibration) {}, "2026-02-02", plan.StandingStale, "still to come"},
		"short ladder":       {func(c *profiles.Calibration) { c.NMPerVoltSD = 0.05 }, "2026-03-02", plan.StandingLocal, "known to 2.5 %: good from 30 V to 60 V only"},
		"scatter not known":  {func(c *profiles.Calibration) { c.NMPerVolt = 0 }, "2026-03-02", plan.StandingLocal, "nm/V is known"},
		"nearly":             {func(c *profiles.Calibration) { c.RMSDE00 = 2.8 }, "2026-03-02", plan.StandingLocal, "dE00 2.8"},
		"another surface":    {func(c *profiles.Calibration) { c.RMSDE00 = 3.4 }, "2026-03-02", plan.StandingPoor, "dE00 3.4"},
		"poor, and stale":    {func(c *profiles.Calibration) { c.RMSDE00 = 3.4 }, "2027-03-02", plan.StandingStale, "365 days old"},
		"a date is not said": {func(c *profiles.Calibration) { c.Date = "" }, "2027-03-02", plan.StandingGood, ""},
	} {
		one := profiles.Calibration{NMPerVolt: 2, NMPerVoltSD: 0.004, RMSDE00: 0.6, Date: "2026-03-02", FromVolts: 30, ToVolts: 60}
		c.change(&one)
		got, why := plan.StandingOf(one, c.today)
		assert.Equal(t, c.want, got, name)
		if c.why == "" {
			assert.Empty(t, why, name)
			continue
		}
		assert.Contains(t, why[len(why)-1], c.why, name)
	}
}
