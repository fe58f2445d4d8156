package watch_test

import (
	"testing"

	"anodized/controller/fault"
	"anodized/controller/watch"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// TestWhatPartsThatJoinHaveToStandOutOf, computed by hand: bins of 2 V, levels of three, four
// seconds from the start of a ramp.
func TestWhatPartsThatJoinHaveToStandOutOf(t *testing.T) {
	j := watch.Join{Film: 31.4, Softness: 20, Drop: 8.3, Rate: 1.5, From: 8}
	assert.InDelta(t, 8+6+6, j.Since(), 1e-9)
	assert.InDelta(t, 39.7, j.At(), 1e-9)
	assert.InDelta(t, 39.7+1.57+8.3+4, j.Told(), 1e-9)
	assert.True(t, j.Seen(53.6))
	assert.False(t, j.Seen(53.5), "the ramp ends before the rise is over")
	least, most := j.Films(53.57)
	assert.InDelta(t, 20-8.3, least, 1e-9)
	assert.InDelta(t, 31.4, most, 1e-9)
	j.Film = 11
	assert.False(t, j.Seen(110), "it joins before the level of the others is known")
	j = watch.Join{Film: 14, Softness: 20, Rate: 0.2}
	assert.False(t, j.Seen(19.9), "nothing is judged below 20 V")
	assert.True(t, j.Seen(20))
}

// TestTheRecordSaysWhichEarlierFilmsAreBlind: of a ramp of 1 V/s to 70 V, by hand.
func TestTheRecordSaysWhichEarlierFilmsAreBlind(t *testing.T) {
	w, _, _ := seen(t, bench)
	w.Close(true, false)
	require.Len(t, w.Findings(), 1)
	assert.Contains(t, w.Findings()[0].Evidence[0], "blind to parts that were coloured before, but for those at 10 to 63 V")
}

// TestWhatLiftsTheCrossingOfAResistor, computed by hand: behind 2 V of bath and leads a film
// of u = 25 draws (0.3 + sqrt(0.09 + 0.04))/2 of the limit where a fine meter shows volts that
// climb by a quarter of what it makes.
func TestWhatLiftsTheCrossingOfAResistor(t *testing.T) {
	c := watch.Crossing{Volts: 10, Drop: 2, Softness: 25, Carried: 0.1, Step: 0.036, Tick: 0.1} // 0.15 of 0.1 V/s in 2.4 s
	assert.InDelta(t, 10*((0.3+0.36056)/2-0.1), c.Lift(), 1e-3)
	assert.False(t, c.Seen())
	for name, better := range map[string]func(*watch.Crossing){
		"a finer meter": func(c *watch.Crossing) { c.Step = 0.001 },
		"a faster film": func(c *watch.Crossing) { c.Carried = 3 },
		"less beside":   func(c *watch.Crossing) { c.Volts = 3 },
	} {
		d := c
		better(&d)
		assert.True(t, d.Seen(), name)
		d.Scatter, d.Carried = 0.5, 0.1
		assert.False(t, d.Seen(), "%s, in noise", name)
	}
}

// TestARampThatShowsNoEarlierFilmSaysSo: to 8 V nothing is judged.
func TestARampThatShowsNoEarlierFilmSaysSo(t *testing.T) {
	p := reference()
	p.TargetVolts = 8
	w := watch.New(p, bench)
	for _, k := range curve(p) {
		w.Update(k)
	}
	w.Close(true, false)
	for _, f := range w.Findings() {
		if f.Code == fault.ContactNotProven {
			assert.Regexp(t, "blind to parts that were coloured before$", f.Evidence[0])
			return
		}
	}
	t.Fatal("the contact of each part is proven by nothing")
}
