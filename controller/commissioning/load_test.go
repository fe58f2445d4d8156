package commissioning

import (
	"context"
	"errors"
	"log/slog"
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"anodized/controller/proof"
	"anodized/hal/unit"
	"anodized/hal/virtual"
)

// hung is a bench with a resistor on its output, and the truth as its second meter.
func hung(t *testing.T, ohms unit.Ohms, chain bool, faults ...string) (Bench, *virtual.Bench, LoadOptions) {
	t.Helper()
	setup := virtual.Setup{Dummy: ohms, Chain: chain}
	for _, text := range faults {
		f, err := virtual.ParseFault(text)
		require.NoError(t, err)
		setup.Faults = append(setup.Faults, f)
	}
	b, v := rig(t, setup)
	return b, v, LoadOptions{Resistor: proof.Resistor{Ohms: 100, Tolerance: 1, Watts: 50, Meter: "truth", MeterOff: 0.5},
		Log:   slog.New(slog.DiscardHandler),
		Meter: func(context.Context, unit.Volts) (unit.Volts, error) { return unit.Volts(v.Truth().Volts), nil }}
}

func TestAResistorProvesTheMeters(t *testing.T) {
	for _, chain := range []bool{false, true} {
		b, v, o := hung(t, 100, chain)
		test, err := b.TryLoad(t.Context(), o)
		require.NoError(t, err)
		assert.Empty(t, test.Why)
		assert.True(t, test.OK)
		require.Len(t, test.Points, 3)
		// sqrt(0.6 x 50 W x 100 ohm) = 54.7 V
		assert.InDelta(t, 54.7, float64(test.Points[2].Set), 1e-9)
		assert.InDelta(t, 0.547, float64(test.Points[2].Amperes), 0.003)
		assert.InDelta(t, 1, float64(test.Volts.Gain), 0.001)
		assert.InDelta(t, 1, float64(test.Amperes.Gain), 0.005)
		assert.InDelta(t, 1.5, float64(test.Amperes.Tolerance), 1e-9)
		dead(t, b, v)
	}
}

// dead demands that the output is off, whatever happened before.
func dead(t *testing.T, b Bench, v *virtual.Bench) {
	t.Helper()
	on, err := b.Supply.Energised(t.Context())
	require.NoError(t, err)
	assert.False(t, on, "the output is on")
	assert.False(t, v.Truth().Output)
}

func TestWithoutASecondMeterTheResistorIsTheMeasure(t *testing.T) {
	b, v, o := hung(t, 100, false)
	o.Meter, o.Resistor.Meter = nil, ""
	test, err := b.TryLoad(t.Context(), o)
	require.NoError(t, err)
	assert.True(t, test.OK)
	assert.Nil(t, test.Volts)
	assert.InDelta(t, 1, float64(test.Amperes.Gain), 0.005)
	assert.InDelta(t, 1, float64(test.Amperes.Tolerance), 1e-9)
	dead(t, b, v)
}

// TestWhatTheResistorFinds: what is wrong, and what is said of it.
func TestWhatTheResistorFinds(t *testing.T) {
	for name, c := range map[string]struct {
		ohms    unit.Ohms
		faults  []string
		outcome string
		why     string
	}{
		"another resistor":       {ohms: 120, outcome: "complete", why: "amperes read 0.83"},
		"quite another resistor": {ohms: 300, outcome: "tripped", why: "are not those of 100 ohm"},
		"a loose lead":           {ohms: 100_000, outcome: "tripped", why: "are not those of 100 ohm"},
		"amperes 8 % off":        {ohms: 100, faults: []string{"readback-amperes-gain,size=1.08"}, outcome: "complete", why: "amperes read 1.08"},
		"a current offset":       {ohms: 100, faults: []string{"current-offset,size=0.06"}, outcome: "refused"},
		"volts that stand still": {ohms: 100, faults: []string{"readback-volts-stuck@20V"}, outcome: "tripped", why: "readback-stuck: A reading stands still"},
		"amperes that stand":     {ohms: 100, faults: []string{"readback-amperes-stuck@20V"}, outcome: "tripped", why: "readback-stuck: A reading stands still"},
		"a meter that stands":    {ohms: 100, faults: []string{"readback-stuck@20V"}, outcome: "tripped", why: "readback-stuck: A reading stands still"},
		"volts of the check":     {ohms: 100, faults: []string{"readback-volts-stuck@4V"}, outcome: "tripped", why: "readback-stuck: A reading stands still"},
		"an output that stays":   {ohms: 100, faults: []string{"output-stuck-on@20V"}, outcome: "tripped", why: "output-stuck-on"},
		"the lid":                {ohms: 100, faults: []string{"interlock-open@20V"}, outcome: "tripped", why: "interlock-open"},
		"a short circuit":        {ohms: 100, faults: []string{"short-circuit@20V"}, outcome: "tripped", why: "are not those of 100 ohm"},
		"a silent supply":        {ohms: 100, faults: []string{"supply-silent@20V,for=3s"}, outcome: "tripped", why: "supply-silent"},
		"a knob":                 {ohms: 100, faults: []string{"panel-touched@20V"}, outcome: "tripped", why: "supply-touched"},
	} {
		t.Run(name, func(t *testing.T) {
			b, v, o := hung(t, c.ohms, false, c.faults...)
			test, err := b.TryLoad(t.Context(), o)
			assert.Equal(t, c.outcome, test.Outcome, test.Why)
			assert.Contains(t, test.Why, c.why)
			assert.NotEmpty(t, test.Why)
			assert.False(t, test.OK)
			if name == "an output that stays" {
				return // it says so, and stays
			}
			require.NoError(t, err)
			dead(t, b, v)
		})
	}
}

// TestAGainThatOnlyTheSecondMeterSees: setpoint and readback agree with each other, and
// both are 2 % from the truth. That is within what the check allows, and told.
func TestAGainThatOnlyTheSecondMeterSees(t *testing.T) {
	b, v, o := hung(t, 100, false)
	true2 := o.Meter
	o.Meter = func(ctx context.Context, set unit.Volts) (unit.Volts, error) {
		volts, err := true2(ctx, set)
		return volts * 1.02, err
	}
	test, err := b.TryLoad(t.Context(), o)
	require.NoError(t, err)
	assert.True(t, test.OK)
	assert.InDelta(t, 1/1.02, float64(test.Volts.Gain), 0.001)
	assert.True(t, test.Volts.Off)
	assert.InDelta(t, 1/1.02, float64(test.Amperes.Gain), 0.005, "the current is held against the meter's volts")
	dead(t, b, v)
}

func TestWhoeverStopsItItEndsOff(t *testing.T) {
	gone := errors.New("standard input has ended")
	b, v, o := hung(t, 100, true)
	o.Meter = func(context.Context, unit.Volts) (unit.Volts, error) { return unit.Volts(math.NaN()), gone }
	test, err := b.TryLoad(t.Context(), o)
	require.NoError(t, err)
	assert.Equal(t, "stopped", test.Outcome)
	assert.Contains(t, test.Why, gone.Error())
	dead(t, b, v)

	b, v, o = hung(t, 100, true)
	ctx, cancel := context.WithCancel(t.Context())
	defer cancel()
	o.Meter = func(c context.Context, set unit.Volts) (unit.Volts, error) { cancel(); <-c.Done(); return 0, c.Err() }
	b.Clock = false
	test, err = b.TryLoad(ctx, o)
	require.NoError(t, err)
	assert.False(t, test.OK)
	dead(t, b, v)

	b, v, o = hung(t, 100, true)
	abort, kill := context.WithCancel(t.Context())
	defer kill()
	o.Abort = abort
	o.Meter = func(c context.Context, set unit.Volts) (unit.Volts, error) { kill(); <-c.Done(); return 0, c.Err() }
	b.Clock = false // a person who never answers
	_, err = b.TryLoad(t.Context(), o)
	require.NoError(t, err)
	dead(t, b, v)
}

func TestAResistorThatCannotTakeIt(t *testing.T) {
	b, v, o := hung(t, 100, false)
	o.Resistor.Watts = 0.25
	_, err := b.TryLoad(t.Context(), o)
	require.ErrorContains(t, err, "more watts")
	assert.False(t, v.Truth().Energised)
	o.Resistor = proof.Resistor{Ohms: 100_000, Watts: 50}
	_, err = b.TryLoad(t.Context(), o)
	require.ErrorContains(t, err, "take a smaller one")
}
