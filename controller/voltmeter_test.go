package controller

import (
	"context"
	"encoding/json"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"anodized/controller/fault"
	"anodized/controller/record"
	"anodized/hal"
	"anodized/hal/unit"
	"anodized/hal/virtual"
)

// metered is a virtual bench with a voltmeter across the cell, with or without a
// contactor, and a Station on it.
func metered(tb testing.TB, chain bool, faults ...virtual.Fault) (*Station, *virtual.Bench, *shelf) {
	tb.Helper()
	setup := virtual.Setup{Seed: 11, Faults: faults, Voltmeter: true, Chain: chain}
	for range 8 {
		setup.Parts = append(setup.Parts, virtual.Part{Area: 25})
	}
	bench, err := virtual.New(setup)
	require.NoError(tb, err)
	kept := &shelf{}
	s := New(Devices{Supply: bench.Supply(), Interlock: bench.Interlock(), Thermometer: bench.Thermometer(), Voltmeter: bench.Voltmeter(),
		Contactor: bench.Contactor(), EmergencyStop: bench.EmergencyStop(), Simulated: true}, bench, kept, quiet(), Options{ClockWaits: true})
	return s, bench, kept
}

func found(res record.Result) (codes []fault.Code) {
	for _, f := range res.Findings {
		codes = append(codes, f.Code)
	}
	return codes
}

func TestAHealthyLoadUnderAVoltmeter(t *testing.T) {
	for _, chain := range []bool{false, true} {
		s, _, kept := metered(t, chain)
		res := through(t, s, spacers())
		require.Equal(t, record.Complete, res.Outcome, "%+v", res)
		assert.NotContains(t, found(res), fault.ReadbackGain)
		assert.NotContains(t, found(res), fault.VoltmeterUnknown)
		meter := s.Snapshot().Voltmeter
		assert.True(t, meter.Fitted && meter.Volts.Known())
		assert.LessOrEqual(t, float64(meter.AgeMS), 400.0)
		read := 0
		for _, row := range kept.rows {
			if row.Meter.OK {
				read++
			}
		}
		assert.Greater(t, read, len(kept.rows)-10, "it stands in the record")
		text, err := json.Marshal(s.Snapshot())
		require.NoError(t, err)
		assert.Contains(t, string(text), `"voltmeter":{"fitted":true,"volts":`)
	}
}

// TestAWrongGainOfTheSupplyIsFound: the curve is self-consistent, and only the meter at
// the cell can tell.
func TestAWrongGainOfTheSupplyIsFound(t *testing.T) {
	late := virtual.AfterHold(4)
	for name, c := range map[string]struct {
		faults  []virtual.Fault
		outcome record.Outcome
		code    fault.Code
	}{
		"0.6 % reads wrong": {[]virtual.Fault{{ID: "readback-volts-gain", Size: 1.006}}, record.Complete, fault.ReadbackGain},
		"2 % of both": {[]virtual.Fault{{ID: "setpoint-gain", Size: 1.02}, {ID: "readback-volts-gain", Size: 1 / 1.02}},
			record.Tripped, fault.ReadbackDisagrees},
		"meter 2 % wrong":  {[]virtual.Fault{{ID: "meter-gain", At: late}}, record.Tripped, fault.ReadbackDisagrees},
		"meter 0.45 V off": {[]virtual.Fault{{ID: "meter-offset", Size: 0.45, At: late}}, record.Complete, fault.ReadbackGain},
		"meter gone":       {[]virtual.Fault{{ID: "meter-silent", At: late}}, record.Complete, fault.VoltmeterUnknown},
	} {
		t.Run(name, func(t *testing.T) {
			s, _, _ := metered(t, false, c.faults...)
			res := through(t, s, spacers())
			require.Equal(t, c.outcome, res.Outcome, "%+v", res)
			assert.Contains(t, found(res), c.code)
			if c.outcome == record.Tripped {
				assert.Equal(t, c.code, res.Trip.Code)
			}
			if c.code == fault.VoltmeterUnknown {
				assert.False(t, s.Snapshot().SafeToOpen.Proven)
				assert.Contains(t, s.Snapshot().SafeToOpen.Why, "not known")
				assert.Positive(t, s.Snapshot().Loop.Errors.Voltmeter)
			}
		})
	}
	s, _, _ := hung(t, 11, virtual.Fault{ID: "setpoint-gain", Size: 1.02}, virtual.Fault{ID: "readback-volts-gain", Size: 1 / 1.02})
	res := through(t, s, spacers())
	assert.Equal(t, record.Complete, res.Outcome, "without a meter nobody can tell")
	assert.NotContains(t, found(res), fault.ReadbackDisagrees)
}

func TestAVoltmeterThatRefusesAStart(t *testing.T) {
	for name, c := range map[string]struct {
		fault  virtual.Fault
		reason string
	}{
		"silent":    {virtual.Fault{ID: "meter-silent"}, "voltmeter at the cell does not answer"},
		"disagrees": {virtual.Fault{ID: "meter-offset", Size: -0.8}, "disagree with the output off"},
		"sees 6 V":  {virtual.Fault{ID: "meter-offset", Size: 6}, "not discharged"},
		"sees -6 V": {virtual.Fault{ID: "meter-offset", Size: -6}, "not discharged"},
	} {
		t.Run(name, func(t *testing.T) {
			s, bench, _ := metered(t, false, c.fault)
			res := through(t, s, straw())
			require.Equal(t, record.Refused, res.Outcome, "%+v", res)
			assert.Contains(t, res.Reasons[0], c.reason)
			assert.False(t, bench.Truth().Energised)
		})
	}
}

// TestTheMeterAtTheCellKeepsTheLidShut: behind the open contactor the supply's meter
// shows nothing; the one at the cell does, and counts.
func TestTheMeterAtTheCellKeepsTheLidShut(t *testing.T) {
	s, _, _ := metered(t, true, virtual.Fault{ID: "meter-offset", Size: 0.45})
	require.Equal(t, record.Complete, through(t, s, straw()).Outcome)
	s, _, _ = metered(t, true, virtual.Fault{ID: "meter-offset", Size: 7, At: virtual.AfterStart(40)})
	res := through(t, s, spacers())
	assert.Equal(t, record.Tripped, res.Outcome)
	assert.Equal(t, fault.ReadbackDisagrees, res.Trip.Code)
	assert.False(t, s.Snapshot().SafeToOpen.Proven, "seven volts at the cell, says the meter")
	assert.GreaterOrEqual(t, float64(s.Snapshot().SafeToOpen.Volts), 5.0)
}

// stopped is a meter whose reading is always that of the start.
type stopped struct{ hal.Voltmeter }

func (stopped) Voltage(context.Context) (unit.Volts, time.Time, error) { return 0, virtual.Epoch, nil }

func TestAVoltmeterOfTheStartIsNoReading(t *testing.T) {
	s, _, _ := metered(t, false)
	s.devices.Voltmeter = stopped{}
	res := through(t, s, straw())
	require.Equal(t, record.Refused, res.Outcome)
	assert.Contains(t, res.Reasons[0], "voltmeter at the cell does not answer")
}
