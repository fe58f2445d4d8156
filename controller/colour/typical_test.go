package colour_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"anodized/controller/colour"
)

// Whatever name a colour gets, the typical colour of that name gets it too.
func TestTypicalBearsItsName(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		name := anyLab(t, "colour").LCh().Name()
		typical, found := colour.Typical(name)
		require.True(t, found, name)
		require.Equal(t, name, typical.Name())
		require.Equal(t, typical.Grey(), name == "silver" || name == "grey" || name == "dark grey", name)
	})
	_, found := colour.Typical("scarlet")
	assert.False(t, found)
}

func TestLChAndLabAreInverse(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		lab := anyLab(t, "colour")
		back := lab.LCh().Lab()
		require.InDelta(t, lab.L, back.L, 1e-12)
		require.InDelta(t, lab.A, back.A, 1e-11)
		require.InDelta(t, lab.B, back.B, 1e-11)
	})
}
