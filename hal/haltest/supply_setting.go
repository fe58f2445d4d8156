package haltest

import (
	"context"
	"math"
	"testing"

	"github.com/stretchr/testify/require"

	"anodized/hal"
	"anodized/hal/unit"
)

var settingTests = []supplyTest{
	{"SetReadsBack", func(r SupplyRig) bool { return r.Held != nil }, setReadsBack},
	{"RoundsDownToStep", anyRig, roundsDownToStep},
	{"RangeSendsNothing", anyRig, rangeSendsNothing},
	{"NaNRefused", anyRig, nanRefused},
	{"SetNeverEnergises", anyRig, setNeverEnergises},
	{"LimitsGoToZero", anyRig, limitsGoToZero},
	{"ClampIsMismatch", needing(Clamp), clampIsMismatch},
	{"RefusalCarriesCode", needing(Refuse), refusalCarriesCode},
}

func setReadsBack(t *testing.T, r SupplyRig) {
	volts, err := r.Supply.SetVoltage(context.Background(), 7)
	require.NoError(t, err)
	amperes, err := r.Supply.SetCurrent(context.Background(), 0.25)
	require.NoError(t, err)
	heldVolts, heldAmperes := r.Held()
	require.InDelta(t, heldVolts, float64(volts), 1e-9)
	require.InDelta(t, heldAmperes, float64(amperes), 1e-9)
}

// roundsDownToStep asks for values on a step, which binary fractions miss, and for
// values between two steps.
func roundsDownToStep(t *testing.T, r SupplyRig) {
	step := float64(r.Supply.Limits().VoltStep)
	require.Positive(t, step)
	for _, steps := range []float64{1, 115, 230, 999} {
		if steps*step < float64(r.Supply.Limits().LeastVolts) {
			continue
		}
		held, err := r.Supply.SetVoltage(context.Background(), unit.Volts(steps*step))
		require.NoError(t, err)
		require.InDelta(t, steps*step, float64(held), step*1e-3, "%v steps are asked for and held", steps)
		held, err = r.Supply.SetVoltage(context.Background(), unit.Volts((steps+0.9)*step))
		require.NoError(t, err)
		require.InDelta(t, steps*step, float64(held), step*1e-3, "nine tenths of a step are dropped")
	}
}

func rangeSendsNothing(t *testing.T, r SupplyRig) {
	limits, heard := r.Supply.Limits(), lines(r)
	tooLow := []unit.Volts{-0.1}
	if limits.LeastVolts > limits.VoltStep {
		tooLow = append(tooLow, limits.LeastVolts-limits.VoltStep)
	}
	for _, volts := range append(tooLow, limits.HighestVolts+1, unit.Volts(math.Inf(1))) {
		held, err := r.Supply.SetVoltage(context.Background(), volts)
		require.ErrorIs(t, err, hal.ErrRange)
		require.True(t, math.IsNaN(float64(held)))
	}
	for _, amperes := range []unit.Amperes{-0.001, limits.HighestAmperes + 0.1, unit.Amperes(math.Inf(1))} {
		held, err := r.Supply.SetCurrent(context.Background(), amperes)
		require.ErrorIs(t, err, hal.ErrRange)
		require.True(t, math.IsNaN(float64(held)))
	}
	require.Equal(t, heard, lines(r), "nothing may reach the instrument")
}

func nanRefused(t *testing.T, r SupplyRig) {
	heard := lines(r)
	_, err := r.Supply.SetVoltage(context.Background(), unit.Volts(math.NaN()))
	require.ErrorIs(t, err, hal.ErrRange)
	_, err = r.Supply.SetCurrent(context.Background(), unit.Amperes(math.NaN()))
	require.ErrorIs(t, err, hal.ErrRange)
	require.Equal(t, heard, lines(r))
}

func lines(r SupplyRig) []string {
	if r.Heard == nil {
		return nil
	}
	return r.Heard()
}

func setNeverEnergises(t *testing.T, r SupplyRig) {
	setBoth(t, r)
	on, err := r.Supply.Energised(context.Background())
	require.NoError(t, err)
	require.False(t, on)
	if r.Output != nil {
		require.False(t, r.Output())
	}
}

func clampIsMismatch(t *testing.T, r SupplyRig) {
	r.do(Clamp)
	held, err := r.Supply.SetVoltage(context.Background(), 11)
	require.ErrorIs(t, err, hal.ErrMismatch)
	require.True(t, math.IsNaN(float64(held)))
	_, err = r.Supply.SetCurrent(context.Background(), 0.1)
	require.NoError(t, err)
	require.Error(t, r.Supply.Energise(context.Background()), "a setting that failed does not count as set")
}

func refusalCarriesCode(t *testing.T, r SupplyRig) {
	r.do(Refuse)
	_, err := r.Supply.SetVoltage(context.Background(), 5)
	require.ErrorIs(t, err, hal.ErrRefused)
	require.ErrorContains(t, err, r.Words.withDefaults().Refusal)
	_, err = r.Supply.SetVoltage(context.Background(), 5)
	require.NoError(t, err, "one refusal is one refusal")
}
