package film_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"anodized/controller/film"
	"anodized/hal/unit"
)

// sixSpacers is the load that the check values were computed for: six spacers of
// 25 cm², 0.8 V/s to 50 V, a timed minute of hold.
func sixSpacers() film.Load {
	return film.Load{
		Law: central, Area: 150, Series: 2.5, Native: 1.5,
		Target: 50, Rate: 0.8, Limit: 0.75, End: film.End{Time: 60},
	}
}

// The rows of TestTrace and TestTraceOfOtherLoads were computed independently, with
// an adaptive integrator of the same equations.
func TestTrace(t *testing.T) {
	points, err := film.Trace(sixSpacers(), []unit.Seconds{0, 5, 62.5, 70, 122.5})
	require.NoError(t, err)
	require.Len(t, points, 5)
	assert.Equal(t, unit.Nanometres(1.5), points[0].Thickness)
	for i, want := range []struct{ current, thickness, charge float64 }{
		{0.39289896, 5.54290, 1.142901},
		{0.41448771, 89.73904, 24.944567},
		{0.12842612, 95.61243, 26.604936},
		{0.02143622, 104.09780, 29.003691},
	} {
		got := points[i+1]
		assert.InEpsilon(t, want.current, float64(got.Amperes), 1e-4, "current at %v s", got.Time)
		assert.InEpsilon(t, want.thickness, float64(got.Thickness), 1e-4, "film at %v s", got.Time)
		assert.InEpsilon(t, want.charge, float64(got.Charge), 1e-4, "charge at %v s", got.Time)
	}
}

func TestTraceOfOtherLoads(t *testing.T) {
	limited, older := sixSpacers(), sixSpacers()
	limited.Limit = 0.30
	older.Native = 40
	for name, row := range map[string]struct {
		load           film.Load
		at             []unit.Seconds
		volts, current []float64
	}{
		"limited": {limited, []unit.Seconds{40, 80, 100, 145},
			[]float64{23.476258, 46.332444, 50, 50}, []float64{0.3, 0.3, 0.07439284, 0.02144584}},
		"older film": {older, []unit.Seconds{20, 25, 30, 35, 62.5},
			[]float64{16, 20, 24, 28, 50}, []float64{0.00058935, 0.04254258, 0.30062726, 0.39703880, 0.41448541}},
	} {
		points, err := film.Trace(row.load, row.at)
		require.NoError(t, err, name)
		require.Len(t, points, len(row.at), name)
		for i, got := range points {
			assert.InEpsilon(t, row.volts[i], float64(got.Volts), 1e-4, "%s at %v s", name, got.Time)
			assert.InEpsilon(t, row.current[i], float64(got.Amperes), 1e-4, "%s at %v s", name, got.Time)
		}
	}
}

func TestRun(t *testing.T) {
	out, err := film.Run(sixSpacers())
	require.NoError(t, err)
	assert.InDelta(t, 62.5, float64(out.RampSeconds), 1e-9)
	assert.InEpsilon(t, 0.41448771, float64(out.RampCurrent), 1e-4)
	assert.InEpsilon(t, 0.02143622, float64(out.EndCurrent), 1e-4)
	assert.InEpsilon(t, 0.849, out.HeatKilojoules, 1e-3, "computed independently")
	assert.InDelta(t, 3.6, out.HydrogenML, 0.02)
	assert.False(t, out.Limited)
	assert.Zero(t, out.LimitedSeconds)
}

func TestRunToADensity(t *testing.T) {
	load := sixSpacers()
	load.End = film.End{Density: 0.15, Sustained: 5, Longest: 180}
	out, err := film.Run(load)
	require.NoError(t, err)
	assert.InDelta(t, 57.0+5, float64(out.HoldSeconds), 0.1, "57.0 s computed independently")
	assert.Less(t, out.EndDensity, unit.CurrentDensity(0.15))
	assert.False(t, out.TimeRanOut)
	load.End.Longest = 20
	out, err = film.Run(load)
	require.NoError(t, err)
	assert.True(t, out.TimeRanOut)
	assert.Equal(t, unit.Seconds(20), out.HoldSeconds)
}

func TestRunAtTheLimit(t *testing.T) {
	load := sixSpacers()
	load.Limit = 0.30
	out, err := film.Run(load)
	require.NoError(t, err)
	assert.True(t, out.Limited)
	assert.Equal(t, unit.Amperes(0.30), out.RampCurrent)
	assert.Greater(t, float64(out.RampSeconds), 80.0)
	assert.Greater(t, float64(out.LimitedSeconds), 60.0)
}

func TestContactCheckCostsTimeNotFilm(t *testing.T) {
	load := sixSpacers()
	load.End = film.End{Density: 0.15, Sustained: 5}
	plain, err := film.Run(load)
	require.NoError(t, err)
	load.Check = film.Ramp{To: 8, Rate: 0.5}
	checked, err := film.Run(load)
	require.NoError(t, err)
	assert.InDelta(t, 16, float64(checked.CheckSeconds), 1e-9)
	assert.InDelta(t, 42/0.8, float64(checked.RampSeconds), 1e-9)
	assert.InDelta(t, float64(plain.Thickness), float64(checked.Thickness), 0.01)
}

func TestFilmThatIsThereAlready(t *testing.T) {
	load := sixSpacers()
	load.Native = 150
	load.End = film.End{Density: 0.15, Sustained: 5}
	out, err := film.Run(load)
	require.NoError(t, err)
	assert.Equal(t, unit.Seconds(5), out.HoldSeconds)
	assert.InDelta(t, 150, float64(out.Thickness), 1e-3)
	assert.Less(t, float64(out.RampCurrent), 1e-4*0.4145, "next to nothing of a bare load's")
}

func TestLoadThatCannotBeFollowed(t *testing.T) {
	for name, spoil := range map[string]func(*film.Load){
		"no area":            func(l *film.Load) { l.Area = 0 },
		"negative limit":     func(l *film.Load) { l.Limit = -1 },
		"target below start": func(l *film.Load) { l.Start = 60 },
		"no ramp":            func(l *film.Load) { l.Rate = 0 },
		"no film":            func(l *film.Load) { l.Native = 0 },
		"no end":             func(l *film.Load) { l.End = film.End{} },
		"no law":             func(l *film.Load) { l.Law = film.Law{} },
	} {
		load := sixSpacers()
		spoil(&load)
		_, err := film.Run(load)
		assert.ErrorContains(t, err, "follow a load", name)
	}
}

func BenchmarkRun(b *testing.B) {
	load := sixSpacers()
	load.Check = film.Ramp{To: 8, Rate: 0.5}
	load.End = film.End{Density: 0.15, Sustained: 5}
	b.ReportAllocs()
	for b.Loop() {
		if _, err := film.Run(load); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkDecayRatio(b *testing.B) {
	d := film.Decay{Volts: 50, Rate: 0.8, SeriesDrop: 1, U0: 24.5}
	b.ReportAllocs()
	for b.Loop() {
		d.Ratio(30)
	}
}

func BenchmarkFitU0(b *testing.B) {
	d := film.Decay{Volts: 50, Rate: 0.8, SeriesDrop: 1, U0: 24.5}
	b.ReportAllocs()
	for b.Loop() {
		film.FitU0(d, 0.1, 30)
	}
}
