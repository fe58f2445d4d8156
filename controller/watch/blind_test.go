package watch_test

import (
	"testing"

	"anodized/controller/fault"
	"anodized/controller/watch"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// TestWhatPartsThatJoinHaveToStandOutOf, computed by hand: bins of 2 V, levels of three, four
// seconds from the start of a ramp; a film that ended at u = 18 takes 20/18 of its volts at 20.
func TestWhatPartsThatJoinHaveToStandOutOf(t *testing.T) {
	j := watch.Join{Film: 31.5, Rest: 18, Softness: 20, Drop: 8.3, Rate: 1.5, From: 8, Share: 0.125, JoinShare: 0.1}
	assert.InDelta(t, 8+6+6, j.Since(), 1e-9)
	assert.InDelta(t, 35+8.3, j.At(), 1e-9)
	assert.InDelta(t, 43.3+1.575+8.3+6, j.Told(), 1e-9)
	assert.True(t, j.Seen(59.2))
	assert.False(t, j.Seen(59.1), "the ramp ends before the rise is over")
	least, most := j.Films(59.175)
	assert.InDelta(t, (20-8.3)*0.9, least, 1e-9)
	assert.InDelta(t, 31.5, most, 1e-9)
	j.Film = 10
	assert.False(t, j.Seen(110), "it joins before the level of the others is known")
	j = watch.Join{Film: 13, Rest: 20, Softness: 20, Rate: 0.2, Share: 0.5}
	assert.False(t, j.Seen(19.9), "nothing is judged below 20 V")
	assert.True(t, j.Seen(20))
}

// TestWhatHidesARise, computed by hand: a part of eight is a rise of a seventh, a fourth of
// which is 1.6 times what two bins scatter where each scatters by 0.0158.
func TestWhatHidesARise(t *testing.T) {
	clear := watch.Join{Film: 30, Rest: 20, Softness: 20, Drop: 1, Rate: 0.3, Share: 0.125, JoinShare: 0.14}
	assert.True(t, clear.Clear())
	for name, c := range map[string]struct {
		seen, blind func(*watch.Join)
	}{
		"steps of the volts": {func(j *watch.Join) { j.Volts = 0.0222 }, func(j *watch.Join) { j.Volts = 0.0225 }},
		"gas in the volts, at the limit": {func(j *watch.Join) { j.Gas, j.Paced = 0.0088, true }, // of 2.5 V
			func(j *watch.Join) { j.Gas, j.Paced = 0.0091, true }},
		"gas in the current": {func(j *watch.Join) { j.Gas, j.Drop = 0.052, 0 }, // a bin holds eleven waves
			func(j *watch.Join) { j.Gas, j.Drop = 0.053, 0 }},
		"gas in what the bath takes": {func(j *watch.Join) { j.Gas, j.Drop = 0.005, 4.3 }, func(j *watch.Join) { j.Gas, j.Drop = 0.005, 4.5 }},
		"a threshold of the profile": {func(j *watch.Join) { j.JoinShare = 0.142 }, func(j *watch.Join) { j.JoinShare = 0.143 }},
	} {
		seen, blind := clear, clear
		c.seen(&seen)
		c.blind(&blind)
		assert.True(t, seen.Clear(), name)
		assert.False(t, blind.Clear(), name)
	}
}

// TestTheRecordSaysWhichEarlierFilmsAreBlind: of a ramp of 1 V/s to 70 V, by hand.
func TestTheRecordSaysWhichEarlierFilmsAreBlind(t *testing.T) {
	w, _, _ := seen(t, bench)
	w.Close(true, false)
	require.Len(t, w.Findings(), 1)
	assert.Contains(t, w.Findings()[0].Evidence[0], "blind to parts that were coloured before, but for those at 9 to 54 V")
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
