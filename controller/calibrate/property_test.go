package calibrate

import (
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"anodized/controller/colour"
	"anodized/hal/unit"
	"anodized/profiles"
)

// drawn is a ladder of a bath, with a scatter, and in one of three a wrong reading.
func drawn(t *rapid.T, from *testing.T, s *colour.Surface) Ladder {
	random := seeded(rapid.Uint64().Draw(t, "seed"))
	b := randomBath(random, s)
	b.noise = rapid.SampledFrom([]float64{0.05, 0.3, 1}).Draw(t, "noise")
	l := ladder(from)
	l.Readings = b.read(random, evenly(10+random.Float64()*10, 60+50*random.Float64(), rapid.IntRange(5, 12).Draw(t, "coupons"))...)
	if rapid.IntRange(0, 2).Draw(t, "spoil") == 0 {
		b.spoil(random, l.Readings, random.IntN(len(l.Readings)))
	}
	return l
}

// The order in which readings are given changes no number of the fit.
func TestOrderOfReadingsChangesNothing(t *testing.T) {
	s := titanium(t)
	rapid.Check(t, func(r *rapid.T) {
		l := drawn(r, t, s)
		one, err := FitLadder(l)
		require.NoError(r, err)
		places := rand.New(rand.NewPCG(rapid.Uint64().Draw(r, "shuffle"), 1)).Perm(len(l.Readings))
		mixed := l
		mixed.Readings = make([]Reading, len(places))
		for i, from := range places {
			mixed.Readings[i] = l.Readings[from]
		}
		two, err := FitLadder(mixed)
		require.NoError(r, err)
		require.Equal(r, [4]float64{one.NMPerVolt, float64(one.Offset), one.NMPerVoltSD, one.RMS}, [4]float64{two.NMPerVolt, float64(two.Offset), two.NMPerVoltSD, two.RMS})
		for i, from := range places {
			require.Equal(r, one.Readings[from].Wrong, two.Readings[i].Wrong)
			require.Equal(r, one.Readings[from].DE00, two.Readings[i].DE00)
		}
	})
}

// One more reading that lies just where the fit says makes nothing less certain, and
// moves nothing.
func TestPerfectReadingNeverHarms(t *testing.T) {
	s := titanium(t)
	rapid.Check(t, func(r *rapid.T) {
		l := drawn(r, t, s)
		l.Scale = ScaleFixed
		before, err := FitLadder(l)
		require.NoError(r, err)
		v := unit.Volts(rapid.Float64Range(5, 110).Draw(r, "volts"))
		l.Readings = append(l.Readings[:len(l.Readings):len(l.Readings)], Reading{Volts: v, Lab: s.Lab(before.Film(v))})
		after, err := FitLadder(l)
		require.NoError(r, err)
		if before.RMS > profiles.HighestRMS { // a reading that lies where such a fit says lies nowhere
			return
		}
		if wrong := before.wrongOnes(); wrong != after.wrongOnes() {
			return // one more reading may tell one more, or one less, to be wrong
		}
		require.LessOrEqual(r, after.NMPerVoltSD, before.NMPerVoltSD*1.0001)
		require.LessOrEqual(r, float64(after.OffsetSD), float64(before.OffsetSD)*1.0001)
		require.InDelta(r, before.NMPerVolt, after.NMPerVolt, before.NMPerVoltSD/20+1e-5)
	})
}

func (fit *Fit) wrongOnes() int {
	_, wrong := fit.counts()
	return wrong
}

// Whatever the readings say, the answer is one: numbers that are finite, never a film
// below nothing, a verdict, and reasons where it is not good.
func FuzzFitLadder(f *testing.F) {
	f.Add(10.0, 30.0, 55.0, 70.0, 20.0, -5.0, 0.5)
	f.Add(50.0, 50.0, 50.1, 70.0, 20.0, -5.0, 0.0)
	f.Add(0.0, 120.0, 60.0, 0.0, 127.0, -128.0, 25.0)
	f.Fuzz(func(t *testing.T, v1, v2, v3, lightness, a, b, end float64) {
		l := ladder(t)
		for i, v := range []float64{v1, v2, v3, (v1 + v2) / 2, v1} {
			turned := [3]float64{lightness, a, b}
			l.Readings = append(l.Readings, Reading{
				Volts: unit.Volts(v), End: unit.CurrentDensity(end),
				Lab: colour.Lab{L: turned[i%3], A: turned[(i+1)%3], B: turned[(i+2)%3]},
			})
		}
		fit, err := FitLadder(l)
		if err != nil {
			return
		}
		require.Len(t, fit.Readings, 5)
		require.NotEmpty(t, fit.Verdict)
		require.False(t, fit.Verdict != Good && len(fit.Reasons) == 0)
		for _, x := range []float64{fit.NMPerVolt, float64(fit.Offset), fit.NMPerVoltSD, float64(fit.OffsetSD), fit.RMS, float64(fit.FilmSD(50))} {
			require.Equal(t, x, x, "not a number: %+v", fit)
		}
		require.GreaterOrEqual(t, float64(fit.Film(0)), 0.0)
	})
}
