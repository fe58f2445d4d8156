package plan_test

import (
	"testing"

	"anodized/controller/plan"
	"anodized/profiles"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// movable are the thresholds that become numbers of the plan: which number, that grows as they
// do, and of which load.
var movable = map[string]struct {
	request func(r *plan.Request)
	grows   func(p plan.Plan) float64
	whole   bool // in proportion, else by as much
}{
	"contact share": {func(*plan.Request) {}, func(p plan.Plan) float64 { return float64(p.ContactCheck.NoContact) }, true},
	"formed share":  {func(r *plan.Request) { r.Rack.FormedTo = 40 }, func(p plan.Plan) float64 { return float64(p.ContactCheck.NoContact) }, true},
	"ramp times":    {func(r *plan.Request) { r.Profile.CurrentDensity = 0.5 }, func(p plan.Plan) float64 { return float64(p.Stages[0].LongestRamp) }, true},
	"ramp spare":    {func(r *plan.Request) { r.Profile.Watch.RampTimes = 1.5 }, func(p plan.Plan) float64 { return float64(p.Stages[0].LongestRamp) }, false},
}

// TestThePlanMovesWithItsThresholds, to both ends of what a profile may set.
func TestThePlanMovesWithItsThresholds(t *testing.T) {
	all := map[string]profiles.Threshold{}
	for _, threshold := range profiles.Thresholds() {
		all[threshold.Key] = threshold
	}
	for key, c := range movable {
		t.Run(key, func(t *testing.T) {
			threshold := all[key]
			require.Equal(t, key, threshold.Key)
			at := func(value float64) float64 {
				r := purple(t)
				c.request(&r)
				*threshold.Of(&r.Profile.Watch) = value
				return c.grows(build(t, r))
			}
			least, most := at(threshold.Least), at(threshold.Most)
			if c.whole {
				assert.InEpsilon(t, threshold.Most/threshold.Least, most/least, 1e-9)
			} else {
				assert.InDelta(t, threshold.Most-threshold.Least, most-least, 1e-9)
			}
		})
	}
}

// TestNoLoadStartsInABathThatWouldEndIt: the window of a plan ends where the run would.
func TestNoLoadStartsInABathThatWouldEndIt(t *testing.T) {
	r := purple(t)
	was := build(t, r).BathWindow
	require.Greater(t, float64(was.Most), 25.0-1e-9)
	r.Profile.Watch.BathHottest = 25
	now := build(t, r)
	assert.EqualValues(t, min(25, was.Most), now.BathWindow.Most)
	assert.Equal(t, was.Least, now.BathWindow.Least)
	r.Bath.LeastTemp, r.Bath.MostTemp, r.Bath.Temperature, r.Calibration.Temperature = 28, 40, 32, 32
	_, err := plan.Build(r)
	assert.ErrorContains(t, err, "bath hottest")
}
