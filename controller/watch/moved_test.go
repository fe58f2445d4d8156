package watch_test

import (
	"testing"

	"anodized/controller/fault"
	"anodized/controller/plan"
	"anodized/controller/watch"
	"anodized/hal/unit"
	"anodized/profiles"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// detects runs a load that is a little beyond a threshold of this value (side is 1) or a
// little within it (-1), and tells whether the detector tells.
type detects func(t *testing.T, p plan.Plan, value, side float64) bool

// movable are the thresholds of this room: one for each key, whose detector must move with it.
var movable = map[string]detects{
	"short share": func(t *testing.T, p plan.Plan, value, side float64) bool {
		return tripped(p, bench, shorted(2, 0.96, value-0.01*side), until(41)) == fault.ShortCircuit
	},
	"plates area": func(t *testing.T, p plan.Plan, value, side float64) bool {
		return platesOf(p, value*(1+0.25*side)) == fault.PolaritySwapped
	},
	"stands share": func(t *testing.T, p plan.Plan, value, side float64) bool {
		return asked(p, value*(1-0.2*side))
	},
	"droop volts": func(t *testing.T, p plan.Plan, value, side float64) bool {
		fifth := func(_ int, k *watch.Tick) { k.Volts, k.Set = k.Volts/5, k.Set/5 } // to 14 V, where a share counts for little
		return finds(p, fault.SupplyDroop, fifth, lastDigitOfHold, sagging(3, unit.Volts(14-value-0.02-0.02*side), false))
	},
	"droop share": func(t *testing.T, p plan.Plan, value, side float64) bool {
		p.Watch.DroopVolts = 0.3
		return finds(p, fault.SupplyDroop, lastDigitOfHold, sagging(3, unit.Volts(70-70*value-0.02-0.02*side), false))
	},
	"droop time": func(t *testing.T, p plan.Plan, value, side float64) bool {
		readings := int(10*value+0.5) + 1
		if side < 0 {
			readings--
		}
		return tripped(p, bench, lastDigitOfHold, sagging(readings, 60, false)) == fault.SupplyNotFollowing
	},
	"target away": func(_ *testing.T, p plan.Plan, value, side float64) bool {
		w := of(p, bench, stepShows, func(_ int, k *watch.Tick) {
			if k.T > 80 {
				k.Volts -= unit.Volts(value + 0.005 + 0.01*side) // half of a step is the meter's
			}
		})
		w.Close(true, false)
		return has(w, fault.UnderFormed)
	},
	"most end": func(_ *testing.T, p plan.Plan, value, side float64) bool {
		p.Stages[0].End.CurrentDensity = of(p, bench).Summary().EndDensity / unit.CurrentDensity(value*(1+0.01*side))
		w := of(p, bench)
		w.Close(true, false)
		return has(w, fault.UnderFormed)
	},
	"end drop": func(t *testing.T, p plan.Plan, value, side float64) bool {
		ohm := value / 0.03 // at the end current of the plan; behind so much the hold ends with more
		ohm = value * (1 + 0.1*side) / float64(behindBath(p, ohm).Summary().EndCurrent)
		w := behindBath(p, ohm)
		w.Close(true, false)
		return has(w, fault.BathResistanceHigh)
	},
	"offset moves": func(_ *testing.T, p plan.Plan, value, side float64) bool {
		w := watch.New(p, watch.Bench{Tick: 0.1, AmpereStep: 0.0001})
		for range 5 {
			w.After(unit.Amperes(value*(1+0.05*side)) * p.End.Current)
		}
		w.Rested()
		return has(w, fault.CurrentOffset)
	},
	"end steps": func(_ *testing.T, p plan.Plan, value, side float64) bool {
		return has(watch.New(p, watch.Bench{Tick: 0.1, AmpereStep: p.End.Current * unit.Amperes((1+0.05*side)/value)}), fault.ReadbackTooCoarse)
	},
	"gain volts": func(_ *testing.T, p plan.Plan, value, side float64) bool {
		_, w := apart(14, value+0.01*side, 0, p.Watch)
		return has(w, fault.ReadbackGain)
	},
	"gain share": func(_ *testing.T, p plan.Plan, value, side float64) bool {
		p.Watch.GainVolts = 0.1
		_, w := apart(70, 0, value*(1+0.03*side), p.Watch)
		return has(w, fault.ReadbackGain)
	},
	"disagree volts": func(_ *testing.T, p plan.Plan, value, side float64) bool {
		at, _ := apart(14, value+0.01*side, 0, p.Watch)
		return at > 0
	},
	"disagree share": func(_ *testing.T, p plan.Plan, value, side float64) bool {
		p.Watch.DisagreeVolts = 0.3
		at, _ := apart(70, 0, value*(1+0.03*side), p.Watch)
		return at > 0
	},
	"stuck steps": func(t *testing.T, p plan.Plan, value, side float64) bool {
		const step = 0.05
		coarse := watch.Bench{Tick: 0.1, Settle: 0.15, VoltStep: step, AmpereStep: 0.001}
		return tripped(p, coarse, stepShows, standStill(400, 20, value*(1+0.15*side)*step)) == fault.ReadbackStuck
	},
	"stuck time": func(t *testing.T, p plan.Plan, value, side float64) bool {
		readings := int(10*value+0.5) + 2
		if side < 0 {
			readings--
		}
		return tripped(p, bench, lastDigit, standStill(400, readings, 1)) == fault.ReadbackStuck
	},
}

// movedElsewhere are keys of other rooms, which have such a test of their own.
var movedElsewhere = map[string]bool{"contact share": true, "formed share": true, "ramp times": true, "ramp spare": true, "asked area": true, "over volts": true, "over share": true, "bath hottest": true, "offset refused": true}

// TestEachDetectorMovesWithItsThreshold, to both ends of what a profile may set.
func TestEachDetectorMovesWithItsThreshold(t *testing.T) {
	for _, threshold := range profiles.Thresholds() {
		t.Run(threshold.Key, func(t *testing.T) {
			at := func(value float64) plan.Plan {
				p := reference()
				*threshold.Of(&p.Watch) = value
				return p
			}
			least, most := at(threshold.Least), at(threshold.Most)
			if told, known := midway[threshold.Key]; known {
				assert.NotEqual(t, told(t, least), told(t, most))
				return
			}
			told, known := movable[threshold.Key]
			require.NotEqual(t, movedElsewhere[threshold.Key], known, "one test moves it")
			if known {
				assert.True(t, told(t, least, threshold.Least, 1), "just beyond %v", threshold.Least)
				assert.False(t, told(t, least, threshold.Least, -1), "just within %v", threshold.Least)
				assert.True(t, told(t, most, threshold.Most, 1), "just beyond %v", threshold.Most)
				assert.False(t, told(t, most, threshold.Most, -1), "just within %v", threshold.Most)
			}
		})
	}
}

// is tells whether a finding is made of these ticks.
func is(t *testing.T, p plan.Plan, ticks []watch.Tick, code fault.Code) bool {
	t.Helper()
	made, _ := told(t, p, ticks, code)
	return made
}
