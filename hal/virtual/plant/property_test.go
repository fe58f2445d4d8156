package plant

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	_ "anodized/hal/haltest/draw" // the same cases on each run
)

// drawn is any bench with any rack and its supply doing anything that it may.
func drawn(t *rapid.T) (*Plant, Parameters) {
	parameters := Draw(rapid.Uint64().Draw(t, "seed"))
	count := rapid.IntRange(1, 5).Draw(t, "parts")
	parts := make([]Part, count)
	for i := range parts {
		parts[i] = Part{Area: rapid.Float64Range(1, 300).Draw(t, "area"), Film: rapid.SampledFrom([]float64{0, 0.5, 7, 60}).Draw(t, "film")}
	}
	p, err := New(parameters, parts, 1)
	require.NoError(t, err)
	return p, parameters
}

// meddle does one thing that a controller, a person or a fault can do.
func meddle(t *rapid.T, p *Plant) {
	part := rapid.IntRange(-1, len(p.member)-1).Draw(t, "part")
	switch rapid.IntRange(0, 9).Draw(t, "act") {
	case 0, 1, 2:
		p.Command(rapid.Float64Range(0, 120).Draw(t, "volts"), rapid.Float64Range(0, 5).Draw(t, "amperes"))
	case 3, 4:
		p.Switch(rapid.Bool().Draw(t, "on"))
	case 5:
		p.SetContact(part, rapid.Bool().Draw(t, "closed"))
	case 6:
		p.SetContactOhms(part, rapid.Float64Range(0, 100).Draw(t, "contact"))
	case 7:
		p.Bypass(rapid.SampledFrom([]float64{0, 300}).Draw(t, "leak"), rapid.SampledFrom([]float64{0, 0.5}).Draw(t, "short"),
			rapid.SampledFrom([]float64{0, 20}).Draw(t, "foreign"))
	case 8:
		p.Held = rapid.SampledFrom([]float64{0, 0.5, 1}).Draw(t, "held")
		p.Recompute()
	case 9:
		p.SetBath(rapid.Float64Range(5, 60).Draw(t, "bath"))
	}
}

// Whatever happens, the supply gives neither more volts than its setpoint nor more
// amperes than its limit, and no number is not one.
func TestSupplyStaysWithinItsLimits(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p, _ := drawn(t)
		now := 0.0
		for range rapid.IntRange(1, 30).Draw(t, "acts") {
			meddle(t, p)
			now += rapid.Float64Range(0.001, 2).Draw(t, "wait")
			truth := until(p, now)
			for _, v := range []float64{truth.Volts, truth.Amperes, truth.Charge, truth.Celsius, p.Read().Volts, p.Read().Amperes} {
				require.False(t, math.IsNaN(v) || math.IsInf(v, 0))
			}
			if truth.Powered {
				require.LessOrEqual(t, truth.Volts, truth.Set*p.Held+1e-6*(1+truth.Set))
				require.LessOrEqual(t, truth.Amperes, truth.Limit*(1+1e-6)+1e-8)
			}
		}
	})
}

func TestFilmNeverShrinksUnlessItDissolves(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p, parameters := drawn(t)
		p.parameters.Film.Dissolution = 0
		require.GreaterOrEqual(t, parameters.Film.Dissolution, 0.0)
		before := until(p, 0).Film
		now := 0.0
		for range rapid.IntRange(1, 15).Draw(t, "acts") {
			meddle(t, p)
			now += rapid.Float64Range(0.01, 2).Draw(t, "wait")
			after := until(p, now).Film
			for i := range after {
				require.GreaterOrEqual(t, after[i], before[i])
			}
			before = append([]float64(nil), after...)
		}
	})
}

func TestFilmDissolves(t *testing.T) {
	p, err := New(Perfect(), like(2, 25, 30), 1)
	require.NoError(t, err)
	p.Dissolving = 0.1
	require.InDelta(t, 29, until(p, 10).Film[0], 1e-9, "also with the output off")
	require.Equal(t, leastFilm, until(p, 1000).Film[0])
}

// A rack in one group grows as its parts would one by one.
func TestGroupsChangeNothing(t *testing.T) {
	together := ramped(t, Default(), like(4, 25, 0), 1, 30, 0.3)
	apart := ramped(t, Default(), like(4, 25, 0), 1, 30, 0.3)
	for part := range 4 {
		apart.SetContactOhms(part, 0)
		apart.SetFilm(part, apart.parameters.Film.Native)
	}
	require.Len(t, together.groups, 1)
	require.Len(t, apart.groups, 4)
	one, other := until(together, 60), until(apart, 60)
	require.InEpsilon(t, one.Amperes, other.Amperes, 1e-9)
	require.InEpsilon(t, one.Film[3], other.Film[3], 1e-9)
}

// How often somebody looks does not change the body, and the steps are fine enough.
func TestStepsDoNotMatter(t *testing.T) {
	parameters := Default()
	coarse := ramped(t, parameters, like(6, 25, 0), 0.8, 50, 0.3)
	fine := ramped(t, parameters, like(6, 25, 0), 0.8, 50, 0.3)
	want := until(coarse, 120)
	for tick := range 24000 {
		fine.Advance(float64(tick+1)/200, math.Inf(1))
	}
	got := until(fine, 120)
	require.InEpsilon(t, want.Amperes, got.Amperes, 2e-6)
	require.InEpsilon(t, want.Film[0], got.Film[0], 2e-6)
	require.InEpsilon(t, want.Charge, got.Charge, 2e-6)
}

func TestNoiseIsDrawnAtReadingsOnly(t *testing.T) {
	readings := func(steps int) []Reading {
		p := ramped(t, Default(), like(2, 50, 0), 1, 20, 1)
		var all []Reading
		for tick := range 100 {
			for part := range steps {
				p.Advance(float64(tick)/10+float64(part+1)/float64(10*steps), math.Inf(1))
			}
			all = append(all, p.Read(), p.Read())
		}
		return all
	}
	one, three := readings(1), readings(3)
	for i := range one {
		require.InDelta(t, one[i].Volts, three[i].Volts, 0.011, "the same noise, rounded to a step")
		require.InDelta(t, one[i].Amperes, three[i].Amperes, 0.0011)
	}
	require.Equal(t, one[0], one[1], "one reading an instant")
}

func TestNoiseIsOfTheSizeAskedFor(t *testing.T) {
	parameters := Perfect()
	parameters.Meter.VoltNoise, parameters.Meter.AmpereNoise, parameters.Meter.GasNoise = 0.05, 0.002, 0.01
	p, err := New(parameters, nil, 7)
	require.NoError(t, err)
	p.Bypass(100, 0, 0)
	p.Command(10, 1)
	p.Switch(true)
	p.Advance(1, math.Inf(1))
	var volts, amperes float64
	const n = 20000
	for i := range n {
		p.Advance(1+float64(i+1), math.Inf(1))
		r := p.Read()
		volts += (r.Volts - 10) * (r.Volts - 10)
		amperes += (r.Amperes - 0.1) * (r.Amperes - 0.1)
	}
	assert.InEpsilon(t, 0.05, math.Sqrt(volts/n), 0.03)
	assert.InEpsilon(t, math.Hypot(0.002, 0.001), math.Sqrt(amperes/n), 0.03)
}

func TestReadingsSettle(t *testing.T) {
	parameters := Perfect()
	parameters.Meter.Settle = 0.2
	parameters.Output.Slew = 1e5
	p, err := New(parameters, nil, 1)
	require.NoError(t, err)
	p.Command(50, 1)
	p.Switch(true)
	p.Advance(0.05, math.Inf(1))
	require.InDelta(t, 50*(1-math.Exp(-1)), p.Read().Volts, 0.5, "a time constant is a quarter of the settling time")
	p.Advance(0.2, math.Inf(1))
	require.InDelta(t, 50, p.Read().Volts, 1.0)
}

func TestReadingsAreWholeSteps(t *testing.T) {
	require.Equal(t, 12.34, nearest(12.3379, 0.01))
	require.Equal(t, 12.3379, nearest(12.3379, 0))
	require.Equal(t, 15.0, nearest(14.2, 3))
	require.Equal(t, 1.15, quantised(1.15, 0.01), "115 steps, not 114")
	require.Equal(t, 1.15, quantised(1.1599, 0.01))
}

func TestEfficiencyFallsAtHighVolts(t *testing.T) {
	parameters := Perfect()
	parameters.Film.HighVolts, parameters.Film.HighEfficiency = 20, 0.5
	p, err := New(parameters, like(1, 25, 0), 1)
	require.NoError(t, err)
	require.Equal(t, parameters.Film.KF, p.growth(20))
	require.InEpsilon(t, 0.75*parameters.Film.KF, p.growth(23), 1e-12)
	require.InEpsilon(t, 0.5*parameters.Film.KF, p.growth(60), 1e-12)
}

func TestBathWarmsByWhatThePlateTakes(t *testing.T) {
	parameters := Default()
	parameters.Film.Thermal = 0
	parameters.Bath = Bath{Litres: 1, Resistance: 1e12, Celsius: 20, Room: 20}
	p, err := New(parameters, nil, 1)
	require.NoError(t, err)
	p.Bypass(100, 0, 0)
	p.Command(100, 5)
	p.Switch(true)
	require.InDelta(t, 20+100*300/4184.0, until(p, 300).Celsius, 0.06)
	p.Switch(false)
	p.parameters.Bath.Resistance, p.parameters.Bath.Room = 0.01, 10
	require.InDelta(t, 10, until(p, 1000).Celsius, 0.01)
}

func TestContactResistanceIsInSeriesWithItsPart(t *testing.T) {
	p := ramped(t, Perfect(), like(2, 25, 0), 1, 30, 1)
	until(p, 20)
	p.SetContactOhms(0, 50)
	truth := until(p, 25)
	g := p.groups[p.member[0]]
	require.InEpsilon(t, truth.FilmVolts, g.across+50*25*(g.ionic+g.side), 1e-9)
	require.Less(t, truth.Film[0], truth.Film[1])
	p.SetContactOhms(0, 0)
	require.InEpsilon(t, until(p, 200).Film[0], until(p, 200).Film[1], 0.01, "parts pull level")
}

func TestDrawsAreInTheirSpread(t *testing.T) {
	for seed := range uint64(500) {
		wide, healthy := Draw(seed), DrawHealthy(seed, 200)
		for _, p := range []Parameters{wide, healthy} {
			require.NoError(t, check(p, nil), seed)
			require.True(t, p.Film.Efficiency >= 0.6 && p.Film.Efficiency <= 1)
			require.True(t, p.Film.Native >= 0.5 && p.Film.Native <= 7)
			require.True(t, p.Output.Slew >= 5 && p.Output.Slew <= 500)
			require.True(t, p.Meter.Settle >= 0 && p.Meter.Settle <= 0.3)
		}
		series := healthy.Cell.LeadOhms + healthy.Cell.BathOhms
		require.True(t, series >= 1 && series <= 10)
		require.True(t, healthy.Film.B >= 3e-6 && healthy.Film.B <= 6e-6)
		require.Zero(t, healthy.Cell.LeakOhms+healthy.Film.Dissolution+healthy.Film.SideCurrent)
		require.Equal(t, wide, Draw(seed))
		require.Equal(t, healthy, DrawHealthy(seed, 200))
	}
}

func TestPartsThatCannotBe(t *testing.T) {
	for _, parts := range [][]Part{{{Area: 0}}, {{Area: math.NaN()}}, {{Area: math.Inf(1)}}, {{Area: 1, Film: -1}}, {{Area: 1, Film: math.NaN()}}} {
		_, err := New(Default(), parts, 1)
		require.Error(t, err)
	}
	broken := Default()
	broken.Output.Slew = 0
	_, err := New(broken, like(1, 1, 0), 1)
	require.ErrorContains(t, err, "slew")
}

// The films of the other metals, at the currents that their constants are fitted at.
func TestMetalsGrowAsTheirConstantsSay(t *testing.T) {
	for _, c := range []struct {
		name    string
		film    Film
		perVolt float64 // nm/V at 1 mA/cm², common practice or from memory
	}{
		{"titanium", Titanium(), 1.912}, {"niobium", Niobium(), 2.5}, {"tantalum", Tantalum(), 1.65},
	} {
		parameters := Perfect()
		parameters.Film = c.film
		parameters.Film.Efficiency, parameters.Film.SideCurrent = 1, 0
		parameters.Cell = Cell{}
		p := ramped(t, parameters, like(1, 100, 0), 50, 60, 0.1)
		for now := 1.0; until(p, now).Volts < 40; now++ {
			require.Less(t, now, 500.0)
		}
		truth := until(p, p.Seconds())
		require.InEpsilon(t, c.perVolt, truth.Film[0]/truth.Volts, 0.002, c.name)
	}
}
