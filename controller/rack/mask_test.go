package rack_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"anodized/controller/rack"
	"anodized/profiles"
)

// The spacer of our own drawing: outside 10.6814, bore 8.9850, ends 5.3099, in all
// 24.9763 cm2, computed independently.
func TestOnlyTheExposedAreaCounts(t *testing.T) {
	for name, c := range map[string]struct {
		masks []profiles.Mask
		want  float64
	}{
		"a plug in the bore":     {[]profiles.Mask{{Name: "plug", Surfaces: []string{"bore"}}}, 24.9763 - 8.9850},
		"bore and ends":          {[]profiles.Mask{{Name: "core", Surfaces: []string{"bore", "ends"}}}, 10.6814},
		"a third":                {[]profiles.Mask{{Name: "tape", Share: 0.3}}, 0.7 * 24.9763},
		"an area":                {[]profiles.Mask{{Name: "band", Area: 4.2}}, 24.9763 - 4.2},
		"a mesh of the mask":     {[]profiles.Mask{{Name: "band", Mesh: "band.stl", Area: 4.2}}, 24.9763 - 4.2},
		"a plug and a band more": {[]profiles.Mask{{Name: "plug", Surfaces: []string{"bore"}}, {Name: "band", Area: 4.2}}, 24.9763 - 8.9850 - 4.2},
	} {
		part := of(8, spacer())
		part.Masks = c.masks
		result, err := rack.Area(profiles.Rack{Name: "masked", Parts: []profiles.Part{part}}, 0)
		require.NoError(t, err, name)
		assert.InEpsilon(t, 8*c.want, float64(result.Total), 1e-4, name)
		assert.InEpsilon(t, 8*(24.9763-c.want), float64(result.Masked), 1e-4, name)
		bare, err := rack.Area(profiles.Rack{Name: "bare", Parts: []profiles.Part{of(8, spacer())}}, 0)
		require.NoError(t, err)
		assert.Greater(t, result.Uncertainty/result.Total, bare.Uncertainty/bare.Total, "%s: a mask is cut by hand", name)
	}
}

func TestMasksThatCannotBe(t *testing.T) {
	for want, masks := range map[string][]profiles.Mask{
		"no surface \"edges\"":     {{Name: "m", Surfaces: []string{"edges"}}},
		"something must stay bare": {{Name: "m", Area: 20}, {Name: "n", Share: 0.3}},
		"exactly one of":           {{Name: "m", Area: 2, Share: 0.3}},
		"was not measured":         {{Name: "m", Mesh: "m.stl"}},
		"share is 1":               {{Name: "m", Share: 1}},
		"area is -1":               {{Name: "m", Area: -1}},
	} {
		part := of(1, spacer())
		part.Masks = masks
		_, err := rack.Area(profiles.Rack{Name: "masked", Parts: []profiles.Part{part}}, 0)
		assert.ErrorContains(t, err, want)
	}
}

// Surface of earlier stages is told, and counts for no total.
func TestColouredSurfaceIsInNoTotal(t *testing.T) {
	bare := profiles.Rack{Name: "r", Parts: []profiles.Part{of(1, spacer())}}
	without, err := rack.Area(bare, 0)
	require.NoError(t, err)
	bare.Coloured = []profiles.Coloured{{Area: 20, FormedTo: 85}}
	with, err := rack.Area(bare, 0)
	require.NoError(t, err)
	assert.Equal(t, without.Total, with.Total)
	assert.InDelta(t, 20, float64(with.Coloured), 0)
}
