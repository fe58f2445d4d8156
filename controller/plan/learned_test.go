package plan_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"anodized/controller/plan"
	"anodized/hal/unit"
)

func TestALiveAreaIsShownAndSetsNothing(t *testing.T) {
	r := quiet(t)
	declared := build(t, r)
	assert.Nil(t, declared.Learned)
	r.History = plan.History{Loads: 6, Check: plan.Share{Mean: 1.09, SD: 0.03}, Ramp: plan.Share{Mean: 1.1, SD: 0.02}}
	p := build(t, r)
	require.NotNil(t, p.Learned)
	assert.InEpsilon(t, 1.1*float64(p.Area), float64(p.Learned.Area), 1e-12)
	assert.InEpsilon(t, 0.02*float64(p.Area), float64(p.Learned.SD), 1e-12)
	assert.Equal(t, []any{6, false}, []any{p.Learned.Loads, p.Learned.Used})
	assert.Equal(t, declared.End, p.End, "it is a person's act")
	assert.Contains(t, p.Learned.Why, "nobody adopted it")
}

func adopt(r plan.Request, share float64, area unit.SquareCentimetres) plan.Request {
	r.Adopted = &plan.Adopted{Area: unit.SquareCentimetres(share) * area, SD: 2, Declared: area, Loads: 7, By: "Ida", Date: "2026-11-30", Simulated: r.Simulated}
	return r
}

func TestAnAreaThatDoesNotSetTheEnd(t *testing.T) {
	for name, change := range map[string]func(*plan.Request){
		"is a book value": func(r *plan.Request) { r.Calibration.Book = true },
		"SIMULATED loads": func(r *plan.Request) { r.Adopted.Simulated = true },
		"another since":   func(r *plan.Request) { r.Adopted.Declared *= 1.01 },
		"look for what":   func(r *plan.Request) { r.Adopted.Area *= 2.5 },
	} {
		r := quiet(t)
		plain := build(t, r)
		r = adopt(r, 1.1, plain.Area)
		change(&r)
		p := build(t, r)
		require.NotNil(t, p.Learned, name)
		assert.False(t, p.Learned.Used)
		assert.Contains(t, p.Learned.Why, name)
		assert.Equal(t, plain.End, p.End, name)
		assert.Contains(t, codes(p), plan.AdoptedAreaNotUsed)
	}
}

// A calibration whose coupons told the efficiency makes area of a live area. One that was
// learned before is area over efficiency, and counts no more.
func TestAnAreaOverEfficiencyIsNoArea(t *testing.T) {
	r := quiet(t)
	plain := build(t, r)
	r = adopt(r, 1.1, plain.Area)
	warned := func(p plan.Plan) string {
		for _, w := range p.Warnings {
			if w.Code == plan.AreaAdopted {
				return w.Message
			}
		}
		return ""
	}
	assert.Contains(t, warned(build(t, r)), "charge that is lost counts as area")
	r.Calibration.Efficiency = 0.8
	old := build(t, r)
	assert.False(t, old.Learned.Used)
	assert.Contains(t, old.Learned.Why, "area over efficiency")
	assert.Equal(t, plain.End, old.End)
	r.Adopted.Efficiency = 0.8
	known := build(t, r)
	assert.True(t, known.Learned.Used)
	assert.NotEmpty(t, warned(known))
	assert.NotContains(t, warned(known), "counts as area")
}

// Whatever is adopted: the end's current goes with it, and nothing else that a supply is
// told. The limit is that of the declared area.
func TestAnAdoptedAreaChangesTheEndAlone(t *testing.T) {
	base := quiet(t)
	plain := build(t, base)
	rapid.Check(t, func(t *rapid.T) {
		share := rapid.Float64Range(0.5, 2).Draw(t, "share")
		p := build(t, adopt(base, share, plain.Area))
		require.True(t, p.Learned.Used)
		require.Contains(t, codes(p), plan.AreaAdopted)
		require.InEpsilon(t, share*float64(plain.End.Current), float64(p.End.Current), 1e-9)
		require.InEpsilon(t, share*float64(plain.End.CurrentDensity), float64(p.End.CurrentDensity), 1e-9, "on the declared area")
		require.InEpsilon(t, float64(p.End.CurrentDensity.At(p.Area)), float64(p.End.Current), 1e-9)
		require.Equal(t, p.End, p.Stages[0].End)
		require.Equal(t, plain.CurrentLimit, p.CurrentLimit)
		require.Equal(t, plain.Stages[0].CurrentLimit, p.Stages[0].CurrentLimit)
		require.Equal(t, plain.Area, p.Area)
		require.Equal(t, plain.ContactCheck, p.ContactCheck)
		require.Equal(t, plain.Expected, p.Expected, "the film is the one that was wanted")
		alike := p.End
		alike.Current, alike.CurrentDensity = plain.End.Current, plain.End.CurrentDensity
		require.Equal(t, plain.End, alike)
		require.Equal(t, []any{plain.TargetVolts, plain.CeilingVolts, plain.Law}, []any{p.TargetVolts, p.CeilingVolts, p.Law})
	})
}
