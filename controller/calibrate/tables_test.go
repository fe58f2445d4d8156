package calibrate

import (
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"anodized/controller/colour"
	"anodized/hal/unit"
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

// What a ladder is for: a colour that is wanted comes out. The worlds are made with other
// tables than the usual, constants up to a fifth off and readings to 0.4; colours that
// each world can have are asked for, their volts looked up, and what these give compared.
// With the tables chosen by the readings half of them are within CIEDE2000 1.0 and 95 of
// 100 within 2.5; with the usual tables they are not.
func TestColoursAfterALadder(t *testing.T) {
	films := []profiles.Table{table(t, jolivet), table(t, "TiO2-Siefke"), table(t, "TiO2-Franta"), table(t, "TiO2-Sarkar")}
	metals := []profiles.Table{table(t, johnson), table(t, "Ti-Mash"), table(t, "Ti-Rakic-BB")}
	random := seeded(31)
	var usualTables, chosen []float64
	for n := range 15 {
		pair := [][2]string{{"TiO2-Siefke", johnson}, {"TiO2-Sarkar", "Ti-Mash"}, {"TiO2-Franta", "Ti-Rakic-BB"}}[n%3]
		world := randomBath(random, surfaceOf(t, pair[0], pair[1], 1))
		world.noise = 0.4
		l := ladder(t)
		l.Readings = world.read(random, designed(t)...)
		pairs, err := Pairs(l, films, metals)
		require.NoError(t, err)
		better := l
		better.Film, better.Substrate = pairs[0].Film, pairs[0].Substrate
		for range 12 {
			volts := 15 + 80*random.Float64()
			usualTables = append(usualTables, world.miss(t, l, volts))
			chosen = append(chosen, world.miss(t, better, volts))
		}
	}
	for name, off := range map[string][]float64{"usual tables": usualTables, "chosen by the readings": chosen} {
		slices.Sort(off)
		t.Logf("%s: CIEDE2000 to the wanted colour %.2f in the middle, %.2f at 95 of 100", name, off[len(off)/2], off[len(off)*95/100])
	}
	assert.LessOrEqual(t, chosen[len(chosen)/2], 1.0)
	assert.LessOrEqual(t, chosen[len(chosen)*95/100], 2.5)
	assert.Greater(t, usualTables[len(usualTables)*95/100], 2.5)
}

// miss is how far the colour that the world gives is from the one that is wanted, which
// it has at some volts, where the volts are looked up by a ladder's fit.
func (b bath) miss(t *testing.T, l Ladder, volts float64) float64 {
	want := b.surface.Lab(unit.Nanometres(b.offset + b.slope*volts))
	fit := fitOf(t, l)
	known, err := l.surface(fit.IndexScale)
	require.NoError(t, err)
	chart, err := known.Chart(colour.Scale{NMPerVolt: fit.NMPerVolt, Offset: fit.Offset}, 10, 105, 0.1)
	require.NoError(t, err)
	found := chart.Best(want, 1)[0].Volts
	return colour.Difference(want, b.surface.Lab(unit.Nanometres(b.offset+b.slope*float64(found))))
}
