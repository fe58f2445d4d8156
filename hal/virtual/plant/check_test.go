package plant

import (
	"fmt"
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// ramped is a perfect bench whose supply slews by itself: the setpoint is
// min(rate t, target) from t = 0.
func ramped(t testing.TB, p Parameters, parts []Part, rate, target, limit float64) *Plant {
	t.Helper()
	p.Output.Slew = rate
	body, err := New(p, parts, 1)
	require.NoError(t, err)
	body.Command(target, limit)
	body.Switch(true)
	return body
}

func like(count int, area, film float64) []Part {
	parts := make([]Part, count)
	for i := range parts {
		parts[i] = Part{Area: area, Film: film}
	}
	return parts
}

func until(p *Plant, seconds float64) Truth {
	p.Advance(seconds, math.Inf(1))
	var truth Truth
	p.Truth(&truth)
	return truth
}

// near is the tolerance of the published check values: 1e-4 relative.
func near(t *testing.T, want, got float64, what string, at float64) {
	t.Helper()
	assert.InEpsilon(t, want, got, 1e-4, fmt.Sprintf("%s at %v s", what, at))
}

// The four cases below were computed independently with an adaptive integrator.
func TestSixSpacersRampAndHold(t *testing.T) {
	p := ramped(t, Perfect(), like(6, 25, 1.5), 0.8, 50, 0.75)
	require.Len(t, p.groups, 1, "like parts are one group")
	for _, want := range []struct{ at, amperes, film, charge float64 }{
		{5, 0.39289896, 5.54290, 1.142901},
		{62.5, 0.41448771, 89.73904, 24.944567},
		{70, 0.12842612, 95.61243, 26.604936},
		{122.5, 0.02143622, 104.09780, 29.003691},
	} {
		truth := until(p, want.at)
		near(t, want.amperes, truth.Amperes, "amperes", want.at)
		near(t, want.film, truth.Film[0], "film", want.at)
		near(t, want.charge, truth.Charge, "charge", want.at)
	}
}

func TestCurrentLimitPacesTheRamp(t *testing.T) {
	p := ramped(t, Perfect(), like(6, 25, 1.5), 0.8, 50, 0.30)
	for _, want := range []struct{ at, volts, amperes float64 }{
		{40, 23.476258, 0.3}, {80, 46.332444, 0.3}, {100, 50, 0.07439284}, {145, 50, 0.02144584},
	} {
		truth := until(p, want.at)
		near(t, want.volts, truth.Volts, "volts", want.at)
		near(t, want.amperes, truth.Amperes, "amperes", want.at)
	}
}

func TestPartLostAndRegained(t *testing.T) {
	parameters := Perfect()
	parameters.Film.Efficiency = 0.85
	parameters.Cell = Cell{LeadOhms: 0.1, BathOhms: 3.9, LeakOhms: 2000}
	p := ramped(t, parameters, []Part{{Area: 20, Film: 1.5}, {Area: 25, Film: 1.5}, {Area: 30, Film: 1.5}}, 0.6, 30, 0.30)
	near(t, 0.18973124, until(p, 19.9).Amperes, "amperes", 19.9)
	until(p, 20)
	p.SetContact(1, false)
	truth := until(p, 30)
	near(t, 0.13159761, truth.Amperes, "amperes", 30)
	near(t, 32.24796, truth.Film[0], "first film", 30)
	near(t, 20.74762, truth.Film[1], "second film", 30)
	until(p, 35)
	p.SetContact(1, true)
	truth = until(p, 36)
	near(t, 0.3, truth.Amperes, "amperes", 36)
	near(t, 16.201443, truth.Volts, "volts", 36)
	near(t, 37.77522, truth.Film[0], "first film", 36)
	near(t, 26.02653, truth.Film[1], "second film", 36)
	truth = until(p, 50)
	near(t, 0.20207372, truth.Amperes, "amperes", 50)
	near(t, 53.83605, truth.Film[0], "first film", 50)
	near(t, 53.83582, truth.Film[1], "second film", 50)
	near(t, 0.02285506, until(p, 110).Amperes, "amperes", 110)
}

func TestOldFilmDrawsNothingUntilReached(t *testing.T) {
	p := ramped(t, Perfect(), like(6, 25, 40), 0.8, 50, 0.75)
	for _, want := range []struct{ at, amperes float64 }{
		{20, 0.00058935}, {25, 0.04254258}, {30, 0.30062726}, {35, 0.39703880}, {62.5, 0.41448541},
	} {
		near(t, want.amperes, until(p, want.at).Amperes, "amperes", want.at)
	}
}

// The invariant of charge, derived: what flowed through the films became film.
func TestChargeIsFilm(t *testing.T) {
	parameters := Perfect()
	parameters.Film.Efficiency = 0.8
	p := ramped(t, parameters, []Part{{Area: 20}, {Area: 25, Film: 7}, {Area: 31}}, 1, 40, 0.4)
	truth := until(p, 90)
	sum := 0.0
	for i, part := range p.parts {
		start := part.Film
		if start == 0 {
			start = parameters.Film.Native
		}
		sum += part.Area * (truth.Film[i] - start) / (0.8 * parameters.Film.KF)
	}
	require.InEpsilon(t, truth.Charge, sum, 1e-6)
}
