package plant

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// behind is 200 cm² at 70 V behind a contactor.
func behind(t *testing.T) *Plant {
	t.Helper()
	p, err := New(Perfect(), []Part{{Area: 200}}, 1)
	require.NoError(t, err)
	p.SetSlew(2)
	p.Command(70, 2)
	p.Switch(true)
	p.Advance(60, 1e9)
	require.InDelta(t, 70, p.Volts(), 0.01)
	return p
}

// The film of 140 nm keeps about 34 µF; 1 kohm brings 70 V to 5 V in R C ln 14, 0.09 s
// (computed independently, plate capacitor).
func TestOpenContactorBleedsTheCellAndHidesItFromTheMeter(t *testing.T) {
	p := behind(t)
	charge := p.charge
	p.Part(true)
	assert.InDelta(t, 70, p.CellVolts(), 0.01)
	for p.CellVolts() > 5 {
		p.Advance(p.Seconds()+0.001, 1e9)
		require.Less(t, p.Seconds(), 61.0)
	}
	assert.InDelta(t, 0.09, p.Seconds()-60, 0.01)
	p.Advance(61, 1e9)
	assert.InDelta(t, 70, p.Read().Volts, 0.1, "the meter shows the supply alone")
	assert.Zero(t, p.Read().Amperes)
	assert.Equal(t, charge, p.charge, "nothing flows")
	p.Part(false)
	assert.InDelta(t, 70, p.CellVolts(), 0.01)
	assert.Positive(t, p.Amperes())
}

func TestSupplyBehindAnOpenContactorRunsDownAlone(t *testing.T) {
	p := behind(t)
	p.Part(true)
	p.Switch(false)
	tau := p.parameters.Output.Farads * p.parameters.Output.BleedOhms
	before := p.Volts()
	p.Advance(60+tau, 1e9)
	assert.InEpsilon(t, before/2.718281828, p.Volts(), 1e-6)
	var truth Truth
	p.Truth(&truth)
	assert.False(t, truth.Live || truth.Powered)
}

func TestStepsDoNotMatterBehindAnOpenContactor(t *testing.T) {
	fine, coarse := behind(t), behind(t)
	for _, p := range []*Plant{fine, coarse} {
		p.Part(true)
		p.Command(20, 1)
	}
	for fine.Seconds() < 75 {
		fine.Advance(fine.Seconds()+0.013, 1e9)
	}
	coarse.Advance(fine.Seconds(), 1e9)
	assert.InDelta(t, fine.Volts(), coarse.Volts(), 1e-9)
	assert.InDelta(t, fine.CellVolts(), coarse.CellVolts(), 1e-9)
}
