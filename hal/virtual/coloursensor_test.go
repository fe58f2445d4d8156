package virtual

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// A quarter wave of film turns a phase: the dark band of a film goes through the spectrum
// as the film grows. The bare metal is Fresnel's, ((n-1)^2+k^2)/((n+1)^2+k^2).
func TestReflectanceOfAFilm(t *testing.T) {
	assert.InDelta(t, (1.5*1.5+3.2*3.2)/(3.5*3.5+3.2*3.2), reflectance(0, 555), 1e-12)
	darkest := func(film float64) (at float64) {
		least := 2.0
		for nanometres := 380.0; nanometres <= 780; nanometres++ {
			if r := reflectance(film, nanometres); r < least {
				least, at = r, nanometres
			}
		}
		return at
	}
	assert.Less(t, darkest(40), darkest(50))
	assert.InDelta(t, reflectance(30, 400), reflectance(30+400/(2*filmIndex), 400), 1e-9, "half a wave more is the same")
}

func TestSensorHasOnlyThePartsThatHang(t *testing.T) {
	b, err := New(Setup{Seed: 1, Parts: []Part{{Area: 20, Count: 4}}})
	require.NoError(t, err)
	s := b.ColourSensor()
	require.NoError(t, s.LayPart(3))
	require.Error(t, s.LayPart(4))
	require.Error(t, s.LayPart(-1))
}
