package calibrate

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"anodized/profiles"
)

// Colours that were made with other tables than the usual ones: of all embedded tables
// the right ones describe them best.
func TestTablesThatDescribeALadder(t *testing.T) {
	films := []profiles.Table{table(t, jolivet), table(t, "TiO2-Siefke"), table(t, "TiO2-Franta"), table(t, "TiO2-Sarkar")}
	metals := []profiles.Table{table(t, johnson), table(t, "Ti-Mash"), table(t, "Ti-Rakic-BB")}
	random := seeded(21)
	for _, c := range [][2]string{{"TiO2-Siefke", johnson}, {"TiO2-Sarkar", "Ti-Mash"}, {"TiO2-Franta", "Ti-Rakic-BB"}} {
		l := ladder(t)
		b := bath{surfaceOf(t, c[0], c[1], 1), 2.1, 1, 0.4}
		l.Readings = b.read(random, testVolts...)
		pairs, err := Pairs(l, films, metals)
		require.NoError(t, err)
		require.Len(t, pairs, 12)
		assert.Equal(t, c, [2]string{pairs[0].Film.ID, pairs[0].Substrate.ID})
		assert.Less(t, pairs[0].RMS, 1.0)
		assert.Greater(t, pairs[11].RMS, 2.0)
	}
}
