package calibrate

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	_ "anodized/hal/haltest/draw" // the same cases on each run
	"anodized/hal/unit"
)

// usual is a ladder of eight coupons for all that a shop colours.
var usual = Wish{From: 10, To: 100, Coupons: 8, NMPerVolt: 1.97, Offset: 1.5}

func TestDesignBeatsEvenSteps(t *testing.T) {
	s := titanium(t)
	for _, w := range []Wish{
		usual,
		{From: 10, To: 110, Coupons: 6, NMPerVolt: 1.97, Offset: 1.5},
		{From: 20, To: 90, Coupons: 5, NMPerVolt: 1.97, Spread: 0.02, Offset: 1.5},
		{From: 5, To: 120, Coupons: 15, NMPerVolt: 1.97, Offset: 1.5},
		{From: 60, To: 80, Coupons: 4, NMPerVolt: 1.97, Offset: 1.5, Step: 0.3},
	} {
		d, err := Plan(s, w)
		require.NoError(t, err)
		t.Logf("%v to %v, %d: %v; film to %.3f nm, even steps %.3f; criterion %.3g, even steps %.3g", w.From, w.To, w.Coupons, d.Volts, float64(d.FilmSD), float64(d.EvenFilmSD), d.criterion, d.evenly)
		assert.Less(t, d.criterion, d.evenly)
		assert.Less(t, d.FilmSD, d.EvenFilmSD)
	}
}

// Coupons stand where the colour turns fast: in the mean over what is believed of the
// constants, it turns faster at them than at even steps.
func TestDesignIsDenserWhereTheColourTurnsFast(t *testing.T) {
	s := titanium(t)
	d, err := Plan(s, usual)
	require.NoError(t, err)
	turn := func(volts []unit.Volts) (sum float64) {
		for _, n := range usual.believed() {
			for _, v := range volts {
				sum += s.Slope(unit.Nanometres(n.film(float64(v)))) / float64(len(volts))
			}
		}
		return sum
	}
	var even []unit.Volts
	for _, v := range evenly(10, 100, 8) {
		even = append(even, unit.Volts(v))
	}
	assert.Greater(t, turn(d.Volts), 1.1*turn(even))
}

func TestDesignRefuses(t *testing.T) {
	s := titanium(t)
	for name, spoil := range map[string]func(*Wish){
		"too few": func(w *Wish) { w.Coupons = 2 }, "too many": func(w *Wish) { w.Coupons = 41 },
		"falling": func(w *Wish) { w.To = 5 }, "from nothing": func(w *Wish) { w.From = 0 },
		"no constants": func(w *Wish) { w.NMPerVolt = math.NaN() }, "wild": func(w *Wish) { w.Spread = 1.5 },
		"crowded": func(w *Wish) { w.From, w.To, w.Coupons = 50, 51, 8 },
	} {
		w := usual
		spoil(&w)
		_, err := Plan(s, w)
		assert.ErrorIs(t, err, ErrWish, name)
	}
}

// Whatever is asked for: so many coupons, rising, inside the range, on the steps of the
// supply, neither crowded nor leaving a gap, and never worse than even steps.
func TestDesignOfAnything(t *testing.T) {
	s := titanium(t)
	rapid.Check(t, func(t *rapid.T) {
		w := Wish{
			From: unit.Volts(rapid.Float64Range(1, 60).Draw(t, "from")), Coupons: rapid.IntRange(3, 9).Draw(t, "coupons"),
			NMPerVolt: rapid.Float64Range(1.5, 2.5).Draw(t, "nm/V"), Offset: 1.5,
			Step: unit.Volts(rapid.SampledFrom([]float64{0, 0.01, 0.1, 0.7}).Draw(t, "step")),
		}
		w.To = w.From + unit.Volts(rapid.Float64Range(15, 60).Draw(t, "range"))
		d, err := Plan(s, w)
		require.NoError(t, err)
		require.Len(t, d.Volts, w.Coupons)
		require.LessOrEqual(t, d.criterion, d.evenly)
		widest := 2*float64(w.To-w.From)/float64(w.Coupons-1) + 2*w.stride()
		for i, v := range d.Volts {
			require.GreaterOrEqual(t, v, w.From-1e-9)
			require.LessOrEqual(t, v, w.To+1e-9)
			require.InDelta(t, 0, math.Remainder(float64(v), w.stride()), 1e-6)
			if i > 0 {
				require.GreaterOrEqual(t, float64(v-d.Volts[i-1]), w.stride()-1e-9)
				require.LessOrEqual(t, float64(v-d.Volts[i-1]), widest)
			}
		}
	})
}

func BenchmarkPlanOfEight(b *testing.B) {
	s := titanium(b)
	for b.Loop() {
		if _, err := Plan(s, usual); err != nil {
			b.Fatal(err)
		}
	}
}
