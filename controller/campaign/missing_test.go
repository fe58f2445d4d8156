package campaign

import (
	"strings"
	"testing"
	"time"

	"anodized/controller/fault"
	"anodized/controller/plan"
	"anodized/controller/record"
	"anodized/hal/virtual"
	"anodized/profiles"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// with is a load in good order in which something is missing.
func with(seed uint64, f virtual.Fault) Case {
	c := Healthy(seed, Surface(), Spread{OwnCalibration: true})
	if f.ID != "" {
		c.Setup.Faults = append(c.Setup.Faults, f)
	}
	return c
}

func has(r *Report, code fault.Code) bool {
	_, found := r.found(code)
	return found
}

// TestWhatIsMissingBeforeTheStartRefusesAndIsNamed: a sense that is not there becomes no
// default. Nothing is energised, and the reason says which one it is.
func TestWhatIsMissingBeforeTheStartRefusesAndIsNamed(t *testing.T) {
	for name, c := range map[string]struct {
		of     Case
		reason string
	}{
		"bath thermometer": {with(2, virtual.Fault{ID: "thermometer-silent"}), "thermometer"},
		"lid switch":       {with(2, virtual.Fault{ID: "interlock-gone"}), "lid"},
		"emergency stop":   {with(2, virtual.Fault{ID: "emergency-stop-gone"}), "emergency stop"},
		"supply":           {with(2, virtual.Fault{ID: "no-reading"}), "supply"},
		"record":           {func() Case { c := with(2, virtual.Fault{}); c.NoRecord = recordBegin; return c }(), "journal"},
	} {
		t.Run(name, func(t *testing.T) {
			r, err := Run(t.Context(), c.of)
			require.NoError(t, err)
			assert.Empty(t, r.Violations)
			assert.Equal(t, record.Refused, r.Result.Outcome)
			assert.Nil(t, r.Result.EnergisedSeconds)
			assert.Contains(t, strings.ToLower(strings.Join(r.Result.Reasons, "; ")), c.reason)
		})
	}
	_, err := Run(t.Context(), with(2, virtual.Fault{ID: "contactor-gone"}))
	assert.ErrorContains(t, err, "contactor", "off cannot be said to it: the station does not begin at all")
}

// TestWhatAPlanLacksIsRefused: no calibration and no target become no numbers of a book.
func TestWhatAPlanLacksIsRefused(t *testing.T) {
	for name, lack := range map[string]func(*plan.Request){
		"calibration": func(r *plan.Request) { r.Calibration = profiles.Calibration{} },
		"target":      func(r *plan.Request) { r.Profile.Target = profiles.Target{} },
		"metal":       func(r *plan.Request) { r.Metal = profiles.Metal{} },
		"rack":        func(r *plan.Request) { r.Rack = profiles.Rack{} },
		"surface":     func(r *plan.Request) { r.Surface = nil },
	} {
		t.Run(name, func(t *testing.T) {
			c := with(2, virtual.Fault{})
			lack(&c.Request)
			_, err := Run(t.Context(), c)
			assert.Error(t, err)
		})
	}
}

// TestWhatIsBlindSaysSo blinds one sense after the other in loads in good order. The load
// goes on, what cannot be judged is not judged, and the record says that it was not.
func TestWhatIsBlindSaysSo(t *testing.T) {
	gap := virtual.Fault{ID: "no-reading", At: virtual.AfterOn(10), For: 800 * time.Millisecond}
	meter := with(2, virtual.Fault{ID: "meter-silent", At: virtual.AfterOn(5)})
	meter.Setup.Voltmeter = true
	coarse := with(2, virtual.Fault{})
	coarse.Setup.Parameters.Meter.AmpereStep = 0.3 * endOf(&coarse)
	coarse.Setup.Parameters.Output.AmpereStep = coarse.Setup.Parameters.Meter.AmpereStep
	for name, c := range map[string]struct {
		of   Case
		says fault.Code
		not  func(*Report) // what must not be claimed
	}{
		"the contact of each part, without good loads of the rack": {with(2, virtual.Fault{}), fault.ContactNotProven,
			func(r *Report) { assert.False(t, has(r, fault.PartMissing)) }},
		"charge and area, after a gap in the readings": {with(2, gap), fault.RecordGap, func(r *Report) {
			assert.Nil(t, r.Result.Charge)
			assert.Nil(t, r.Result.ThicknessByCharge)
		}},
		"the bath, whose thermometer is silent": {with(4, virtual.Fault{ID: "thermometer-silent", At: virtual.AfterOn(8)}), fault.BathTemperatureUnknown,
			func(r *Report) { assert.False(t, has(r, fault.BathTemperatureDrift)) }},
		"the supply's volts, where the second meter is silent": {meter, fault.VoltmeterUnknown,
			func(r *Report) { assert.False(t, has(r, fault.ReadbackGain)) }},
		"the end, with a meter of a few steps to it": {coarse, fault.ReadbackTooCoarse, func(*Report) {}},
	} {
		t.Run(name, func(t *testing.T) {
			r, err := Run(t.Context(), c.of)
			require.NoError(t, err)
			assert.Empty(t, r.Violations)
			assert.NotNil(t, r.Result.EnergisedSeconds, "%v", r.Result.Reasons)
			assert.True(t, has(&r, c.says), "%s is not among %v", c.says, r.Result.Findings)
			c.not(&r)
		})
	}
}

// TestABenchWithoutAContactorNeverSaysSafeToOpen: waiting is no proof.
func TestABenchWithoutAContactorNeverSaysSafeToOpen(t *testing.T) {
	c := with(3, virtual.Fault{})
	require.False(t, c.Setup.Chain)
	r := ran(t, c)
	last := r.station.Snapshot().SafeToOpen
	assert.False(t, last.Proven)
	assert.Contains(t, last.Why, "check with a meter")
}
