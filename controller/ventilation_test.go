package controller

import (
	"fmt"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"anodized/controller/fault"
	"anodized/controller/process"
	"anodized/controller/record"
	"anodized/hal/virtual"
)

// fanned is a virtual bench, with an airflow switch or without, and a Station on it.
func fanned(t *testing.T, switched bool, faults ...virtual.Fault) (*Station, *virtual.Bench, *shelf) {
	t.Helper()
	bench, err := virtual.New(virtual.Setup{Seed: 3, Faults: faults, Ventilation: switched, Parts: []virtual.Part{{Area: 25, Count: 8}}})
	require.NoError(t, err)
	kept := &shelf{}
	s := New(Devices{Supply: bench.Supply(), Interlock: bench.Interlock(), Thermometer: bench.Thermometer(),
		Ventilation: bench.Ventilation(), Simulated: true}, bench, kept, quiet(), Options{ClockWaits: true})
	return s, bench, kept
}

// TestLostVentilationEndsALoad: off within 5 s of the loss, and the record says what was
// seen.
func TestLostVentilationEndsALoad(t *testing.T) {
	for id, saw := range map[string]string{
		"ventilation-lost": "the airflow switch is open; it last proved the air 1.",
		"ventilation-gone": "the airflow switch does not answer",
	} {
		t.Run(id, func(t *testing.T) {
			s, bench, kept := fanned(t, true, virtual.Fault{ID: id, At: virtual.AfterOn(6)})
			res := through(t, s, straw())
			require.Equal(t, record.Tripped, res.Outcome, "%+v", res)
			assert.Equal(t, fault.VentilationLost, res.Trip.Code)
			assert.Contains(t, res.Trip.Evidence[0], saw)
			assert.Contains(t, res.Trip.Evidence[0], " A")
			assert.False(t, bench.Truth().Powered)
			now := s.Snapshot().Ventilation
			assert.True(t, now.Fitted && !now.Proven)
			last := -1.0
			for _, row := range kept.rows {
				if process.State(row.State).Energised() {
					last = float64(row.T)
				}
			}
			assert.InDelta(t, 7, last, 0.2, "the filter of one second, well within five")
			if id == "ventilation-gone" {
				assert.Positive(t, s.Snapshot().Loop.Errors.Ventilation)
			}
		})
	}
}

func TestNoLoadWithoutAProvenVentilation(t *testing.T) {
	for id, why := range map[string]string{"ventilation-lost": "the ventilation is not proven to run", "ventilation-gone": "the airflow switch does not answer"} {
		s, bench, _ := fanned(t, true, virtual.Fault{ID: id})
		res := through(t, s, straw())
		require.Equal(t, record.Refused, res.Outcome, id)
		assert.Contains(t, res.Reasons[0], why)
		assert.False(t, bench.Truth().Energised, "%s: the output was never on", id)
	}
}

// TestAnAirflowSwitchChangesNothingElse: the same load, row by row, with one that is
// closed, with one that flutters, and without one.
func TestAnAirflowSwitchChangesNothingElse(t *testing.T) {
	s, _, plain := fanned(t, false)
	want := through(t, s, straw())
	require.Equal(t, record.Complete, want.Outcome)
	assert.False(t, s.Snapshot().Ventilation.Fitted)
	for name, faults := range map[string][]virtual.Fault{
		"closed": nil, "flutters": {{ID: "ventilation-lost", At: virtual.AfterOn(4), For: 800 * time.Millisecond}},
	} {
		s, _, kept := fanned(t, true, faults...)
		got := through(t, s, straw())
		require.Equal(t, want.Outcome, got.Outcome, name)
		require.Equal(t, len(plain.rows), len(kept.rows), name)
		require.Equal(t, fmt.Sprint(plain.rows), fmt.Sprint(kept.rows), name) // with what is not a number
		assert.True(t, s.Snapshot().Ventilation.Fitted, name)
	}
}
