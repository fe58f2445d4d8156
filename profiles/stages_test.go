package profiles

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func TestMasksAndStages(t *testing.T) {
	k, err := ReadRack("k", good(t, "rack-masked.yaml"))
	require.NoError(t, err)
	assert.Equal(t, []Mask{{Name: "bore plug", Surfaces: []string{"bore"}}, {Name: "band", Area: 4.2}}, k.Parts[0].Masks)
	assert.Equal(t, []Mask{{Name: "mask", Share: 0.3}}, k.Parts[1].Masks)
	p, err := ReadProfile("p", good(t, "profile-two-tone.yaml"))
	require.NoError(t, err)
	require.Len(t, p.Stages, 2)
	assert.Equal(t, Stage{Name: "blue band", Target: Target{Volts: 30}, MaskRemoved: []string{"band"}}, p.Stages[1])
	p, err = ReadProfile("p", good(t, "profile-sweep.yaml"))
	require.NoError(t, err)
	assert.Equal(t, &Sweep{From: 90, To: 20, Steps: 8, Stroke: 80}, p.Sweep)
}

// The other order is taken where it is asked for.
func TestRisingStagesThatAreAskedFor(t *testing.T) {
	const text = "name: p\nmetal: titanium-grade-5\nbath: bicarbonate\nramp: 1 V/s\ncurrent density: 5 mA/cm2\nend: {time: 60 s}\n" +
		"order: rising\nstages:\n  - {name: low, target: 30 V}\n  - {name: high, target: 70 V, mask removed: [a, b]}\n"
	p, err := ReadProfile("p", []byte(text))
	require.NoError(t, err)
	assert.Equal(t, Rising, p.Order)
	assert.Equal(t, []string{"a", "b"}, p.Stages[1].MaskRemoved)
}
