package process

import (
	"math"
	"testing"

	"anodized/controller/fault"
	"anodized/hal/unit"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func TestHealthyLoadEndsComplete(t *testing.T) {
	k := newTank(load())
	k.start(t, ContactCheck)
	for _, state := range []State{Ramping, Holding, Discharging, Complete} {
		k.until(t, state)
	}
	s, ok := k.loop.Summary()
	require.True(t, ok)
	assert.InEpsilon(t, 200, float64(s.LiveArea), 0.01)
	assert.InEpsilon(t, 0.15, float64(s.EndDensity), 0.10, "five more seconds of decay after the end was reached")
	assert.InEpsilon(t, k.film, float64(s.ThicknessByVolts), 0.005)
	assert.InEpsilon(t, k.film, float64(s.ThicknessByCharge), 0.005)
	assert.InDelta(t, 3, float64(s.SeriesOhm), 0.3)
	assert.InDelta(t, 78, float64(s.RampSeconds), 2)
	assert.InDelta(t, 80, float64(s.HoldSeconds), 4, "0.15 mA/cm2 needs 75 s at 70 V after 1 V/s, and 5 s sustained")
	for _, f := range k.loop.Findings() {
		assert.Equal(t, fault.ContactNotProven, f.Code, "eight parts and no history: kept on the record")
	}
}

func TestSetpointRisesOnlyAndNeverAboveTheCeiling(t *testing.T) {
	k := newTank(load())
	k.start(t, ContactCheck)
	last := unit.Volts(0)
	for k.out.On {
		require.GreaterOrEqual(t, k.out.Set, last-1e-9)
		require.LessOrEqual(t, k.out.Set, k.loop.plan.CeilingVolts)
		last = k.out.Set
		k.tick()
	}
}

func TestCurrentLimitSetsThePaceAndNothingTrips(t *testing.T) {
	p := load()
	p.CurrentLimit, p.CurrentDensity, p.Stages[0].CurrentLimit, p.Stages[0].LongestRamp = 0.32, 1.6, 0.32, 600
	k := newTank(p)
	k.start(t, Ramping)
	for k.out.State == Ramping {
		k.tick()
		if k.now > 30 {
			assert.Less(t, float64(k.out.Set), k.volts*(1+gainShare)+0.6, "the setpoint waits for the bath")
		}
	}
	assert.Equal(t, Complete, k.untilEnd(t).State)
	s, _ := k.loop.Summary()
	assert.InEpsilon(t, 200, float64(s.LiveArea), 0.01)
	assert.Equal(t, fault.LimitedByCurrent, k.loop.Findings()[0].Code)
}

func TestHoldThatCannotEndRunsOutOfTimeAndDoesNotTrip(t *testing.T) {
	k := newTank(load())
	k.leak = 1000 // 70 mA at 70 V, more than the end current
	k.start(t, Holding)
	out := k.untilEnd(t)
	assert.Equal(t, TimeRanOut, out.State)
	assert.Equal(t, fault.EndNotReached, out.ByTime)
	assert.Empty(t, out.Trip)
	s, _ := k.loop.Summary()
	assert.InDelta(t, 180, float64(s.HoldSeconds), 0.3)
	codes := []fault.Code{}
	for _, f := range k.loop.Findings() {
		codes = append(codes, f.Code)
	}
	assert.Contains(t, codes, fault.EndNotReached)
	assert.Contains(t, codes, fault.LeakPlateau)
}

func TestRampThatCannotArriveRunsOutOfTime(t *testing.T) {
	p := load()
	p.Stages[0].LongestRamp = 40
	k := newTank(p)
	k.start(t, Ramping)
	out := k.untilEnd(t)
	assert.Equal(t, TimeRanOut, out.State)
	assert.Equal(t, fault.TargetNotReached, out.ByTime)
}

func TestTimedHoldIsAGoodEnd(t *testing.T) {
	p := load()
	p.End.Time, p.Stages[0].End.Time = 20, 20
	k := newTank(p)
	k.start(t, Holding)
	began := k.now
	assert.Equal(t, Complete, k.untilEnd(t).State)
	s, _ := k.loop.Summary()
	assert.InDelta(t, 20, float64(s.HoldSeconds), 0.11)
	assert.Greater(t, k.now, began+20)
}

func TestPredictedEndGetsBetterAsTheDecayIsSeen(t *testing.T) {
	k := newTank(load())
	k.start(t, Holding)
	entered := k.now
	predicted := map[int]float64{}
	for k.out.State == Holding {
		k.tick()
		held := int(math.Round(k.now - entered))
		if e := k.loop.Estimates(); held == 6 || held == 20 {
			predicted[held] = k.now - entered + float64(e.SecondsLeft)
			assert.LessOrEqual(t, e.LeastLeft, e.SecondsLeft)
			assert.GreaterOrEqual(t, e.MostLeft, e.SecondsLeft)
		}
	}
	truth := k.now - entered
	assert.InEpsilon(t, truth, predicted[6], 0.06)
	assert.InEpsilon(t, truth, predicted[20], 0.03)
	assert.InEpsilon(t, 24.4, k.loop.Estimates().Softness, 0.05)
}

func TestTwoStagesRunOneAfterTheOther(t *testing.T) {
	p := load()
	first := p.Stages[0]
	first.Name, first.TargetVolts, first.End.CurrentDensity, first.End.Current = "first", 30, 0.5, 0.1
	p.Stages = append(p.Stages[:0:0], first, p.Stages[0])
	k := newTank(p)
	k.start(t, Holding)
	assert.Equal(t, 0, k.out.Stage)
	k.until(t, Ramping)
	assert.Equal(t, 1, k.out.Stage)
	assert.Equal(t, Complete, k.untilEnd(t).State)
}

// TestAMeterThatReadsLowHoldsBackNoRamp: half a per cent is ordinary for a supply's own
// meter (common practice, no source), and the ramp keeps its pace up to the highest volts.
func TestAMeterThatReadsLowHoldsBackNoRamp(t *testing.T) {
	p := load()
	p.TargetVolts, p.CeilingVolts = 110, 111
	p.Stages[0].TargetVolts, p.Stages[0].LongestRamp = 110, 240
	for _, gain := range []float64{1, 0.995} {
		k := newTank(p)
		k.before = func(k *tank) { k.in.Reading.Volts *= unit.Volts(gain) }
		k.start(t, Ramping)
		began := k.now
		k.until(t, Holding)
		require.InDelta(t, 102, k.now-began, 4, "from 8 V to 110 V at 1 V/s, gain %v", gain)
	}
}
