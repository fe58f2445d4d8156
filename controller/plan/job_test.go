package plan_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"anodized/controller/plan"
	"anodized/controller/rack"
	"anodized/hal/unit"
	"anodized/profiles"
)

const (
	twoTone = "../../testdata/good/profile-two-tone.yaml"
	strips  = "../../testdata/good/profile-sweep.yaml"
	masked  = "../../testdata/good/rack-masked.yaml"
)

func plansOf(t require.TestingT, r plan.Request) []plan.Plan {
	runs, err := plan.Runs(r)
	require.NoError(t, err)
	var all []plan.Plan
	for _, run := range runs {
		all = append(all, build(t, run))
	}
	return all
}

// The limit of each stage comes from what it exposes alone: spacers without bore and band,
// a clamp with 30 % masked and fresh wires, then four bands of 4.2 cm2. Areas computed
// independently.
func TestTwoTones(t *testing.T) {
	p := plansOf(t, starter(t, twoTone, masked))
	require.Len(t, p, 2)
	const first = 4*(24.9763-8.9850-4.2) + 0.7*52.67 + 5*3.03604
	assert.InEpsilon(t, first, float64(p[0].Area), 1e-4)
	assert.InEpsilon(t, first*5/1000, float64(p[0].CurrentLimit), 1e-4)
	assert.Equal(t, unit.Volts(70), p[0].TargetVolts)
	assert.InEpsilon(t, 4*4.2, float64(p[1].Area), 1e-9)
	assert.InEpsilon(t, 4*4.2*5/1000, float64(p[1].CurrentLimit), 1e-9)
	assert.InEpsilon(t, 4*4.2*0.15/1000, float64(p[1].End.Current), 1e-9)
	assert.Equal(t, unit.Volts(30), p[1].TargetVolts)
	assert.Equal(t, 4, p[1].Parts, "the clamp has no such mask: it hangs coloured")
	assert.InEpsilon(t, first, float64(p[1].Job.Runs[1].Coloured), 1e-4)
	assert.Equal(t, 2, p[1].Job.Stage)
	assert.Contains(t, codes(p[1]), plan.JobStage)
	assert.NotContains(t, codes(p[1]), plan.ColouredGrows)
	assert.NotEqual(t, p[0].ID, p[1].ID)
}

func TestAColourStrip(t *testing.T) {
	p := plansOf(t, starter(t, strips, "one headset spacer"))
	require.Len(t, p, 8)
	for k, one := range p {
		assert.InDelta(t, 90-10*float64(k), float64(one.TargetVolts), 1e-9)
		assert.InEpsilon(t, 24.9763/8, float64(one.Area), 1e-4)
		assert.InDelta(t, 10*float64(k+1), float64(one.Job.Runs[k].Immersed), 1e-9)
		assert.InDelta(t, -0.875, one.Job.VoltsPerMM, 1e-12)
	}
}

// Drawn out strip by strip, with rising volts: what is still in the bath grows on.
func TestAColourStripThatIsDrawnOut(t *testing.T) {
	r := starter(t, strips, "one headset spacer")
	r.Profile.Sweep.From, r.Profile.Sweep.To, r.Profile.Order = 20, 90, profiles.Rising
	p := plansOf(t, r)
	for k, one := range p {
		assert.InEpsilon(t, 24.9763*float64(8-k)/8, float64(one.Area), 1e-4)
		assert.InDelta(t, 10*float64(8-k), float64(one.Job.Runs[k].Immersed), 1e-9)
		if k > 0 {
			assert.InDelta(t, float64(p[k-1].TargetVolts), float64(one.ContactCheck.FormedVolts), 1e-12)
			assert.Contains(t, codes(one), plan.RisingOrder)
		}
	}
}

func TestJobsThatAreRefused(t *testing.T) {
	byColour := starter(t, twoTone, masked)
	byColour.Profile.Stages[0].Target = profiles.Target{Volts: 30}
	byColour.Profile.Stages[1].Target = profiles.Target{Hex: "#d560af"} // 70 V or so: no file can tell
	_, err := plan.Runs(byColour)
	require.ErrorIs(t, err, plan.ErrOrder)
	falling := starter(t, twoTone, masked)
	falling.Profile.Order = profiles.Rising
	_, err = plan.Runs(falling)
	require.ErrorIs(t, err, plan.ErrOrder)
	bare := starter(t, twoTone, "one headset spacer")
	_, err = plan.Runs(bare)
	require.ErrorContains(t, err, `no part of the rack "one headset spacer" has a mask "band"`)
	twice := starter(t, twoTone, masked)
	twice.Profile.Stages[0].MaskRemoved = []string{"band"}
	_, err = plan.Runs(twice)
	require.ErrorContains(t, err, "off already")
	_, err = plan.Build(starter(t, twoTone, masked))
	require.ErrorContains(t, err, "plan one of them")
}

func TestColouredSurfaceThatWouldGrow(t *testing.T) {
	r := purple(t)
	r.Rack.Coloured = []profiles.Coloured{{Area: 20, FormedTo: 85}}
	assert.NotContains(t, codes(build(t, r)), plan.ColouredGrows)
	r.Rack.Coloured[0].FormedTo = 50
	assert.Contains(t, codes(build(t, r)), plan.ColouredGrows)
}

// Surface that was formed to 90 V has at 80 V eight ninths of its field: by the law of
// titanium 0.15 mA/cm2 become 0.01355, computed independently. At 30 V it draws nothing.
func TestColouredSurfaceThatStillDraws(t *testing.T) {
	r := purple(t)
	r.Profile.Target.Volts, r.Profile.Ceiling = 80, 0
	r.Rack.Coloured = []profiles.Coloured{{Area: 1000, FormedTo: 90}}
	p := build(t, r)
	assert.Contains(t, codes(p), plan.ColouredDraws)
	for _, w := range p.Warnings {
		if w.Code == plan.ColouredDraws {
			assert.Contains(t, w.Message, "0.0135") // A, of 1000 cm2
		}
	}
	r.Profile.Target.Volts = 30
	assert.NotContains(t, codes(build(t, r)), plan.ColouredDraws)
}

// Whatever the shares, the stages of a falling job expose together what the rack has bare
// and what its removed masks covered, and no stage counts surface twice.
func TestStagesShareTheSurfaceOut(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		r := starter(t, twoTone, masked)
		share := rapid.Float64Range(0.01, 0.9).Draw(t, "share of the band")
		r.Rack.Parts[0].Masks[1] = profiles.Mask{Name: "band", Share: share * 0.6}
		r.Profile.Stages = append(r.Profile.Stages, profiles.Stage{Name: "dip", Target: profiles.Target{Volts: 15},
			Exposes: rapid.Float64Range(0.01, 0.9).Draw(t, "dip")})
		whole, err := rack.Area(r.Rack, r.Metal.Density)
		require.NoError(t, err)
		want := float64(whole.Total) + 4*float64(whole.Parts[0].Masks[1].Area)
		got := 0.0
		for _, p := range plansOf(t, r) {
			got += float64(p.Area)
		}
		require.InEpsilon(t, want, got, 1e-9)
	})
}
