package watch_test

import (
	"testing"

	"anodized/controller/fault"
	"anodized/controller/watch"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// TestAPartThatIsLostAtAnyMoment: one of eight, from the first volts at which its share is
// judged, through the ramp, and from three seconds after the bend into the hold to its end. In the
// bend itself a softness that nobody has measured yet foretells too little.
func TestAPartThatIsLostAtAnyMoment(t *testing.T) {
	for _, at := range []float64{12.5, 14, 17, 25, 60, 68, 73, 75, 78, 100, 140} {
		_, trip, told := seen(t, bench, between(at, 150, 0.875))
		require.Equal(t, fault.ContactLost, trip, "lost at %.1f s", at)
		assert.Less(t, told-at, 3.2, "lost at %.1f s", at)
	}
}

func TestAPartThatComesBackIsNotLost(t *testing.T) {
	for _, at := range []float64{20, 40, 60, 72, 90} {
		_, trip, _ := seen(t, bench, between(at, at+0.5, 0.875))
		assert.Empty(t, trip, "open at %.1f s", at)
	}
}

func TestMarginsOfAHealthyCurve(t *testing.T) {
	w, _, _ := seen(t, bench)
	m := w.Margins()
	assert.Less(t, m.ContactLost, 0.9)
	assert.Zero(t, m.Breakdown)
	assert.Zero(t, m.Dips)
	w, _, _ = seen(t, bench, between(40, 150, 0.875))
	assert.GreaterOrEqual(t, w.Margins().ContactLost, 1.0)
}

// TestWhatAPartHasToStandOutOf against a film of u = 25 behind 3 ohm at 0.68 A and 20 V:
// 3.5 of 12.5 per cent fall at once (computed independently, 1/(1 + R u I/V)).
func TestWhatAPartHasToStandOutOf(t *testing.T) {
	s := watch.Sight{Film: 20, Softness: 25, Drop: 2.04, Rate: 1, Volts: 0.012, Gas: 0.003, LostShare: 0.04, DipShare: 0.02}
	assert.InDelta(t, 0.035, s.Fall(0.125), 0.0005)
	assert.Less(t, s.LeastLost(), 0.125, "one of eight is seen")
	assert.Greater(t, s.LeastDip(), s.LeastDips())
	clean := s
	clean.Drop = 0
	assert.Less(t, clean.LeastLost(), s.LeastLost())
	assert.Less(t, clean.LeastDips(), s.LeastDips())
	assert.GreaterOrEqual(t, clean.LeastLost(), 0.04)
	noisy := s
	noisy.Gas = 0.02
	assert.Greater(t, noisy.LeastLost(), 0.125, "in such noise it is blind")
}
