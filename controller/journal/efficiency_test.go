package journal

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"anodized/controller/fault"
	"anodized/controller/film"
	"anodized/controller/record"
	"anodized/profiles"
)

// Coupons that were coloured by a book whose nm per volt are 8 % off, in a bath that keeps
// 0.8 of its charge: the fit says the nm per volt, and the runs then the 0.8.
func TestTheEfficiencyOfABathFromItsCoupons(t *testing.T) {
	j, _ := openSample(t)
	const kept, off = 0.8, 1.08
	law := rackOfEight().Law
	believed := film.New(law.I0, law.B, law.KF, 1)
	growth := profiles.Growth{I0: law.I0, B: law.B, MolarMass: 79.866, Electrons: 4, OxideGCM3: 3.90, Efficiency: 1}
	fitted := profiles.Calibration{NMPerVolt: off * believed.NMPerVolt(0.15), EndCurrentDensity: 0.15}
	var runs []string
	coupon := func(findings ...fault.Finding) {
		in, result := sampleIntent(), sampleResult()
		in.Plan, in.Metal.Growth = rackOfEight(), growth
		result.Findings = findings
		run, err := j.Begin(t.Context(), in)
		require.NoError(t, err)
		bath := in.Plan
		bath.Law.B *= off
		appendAll(j, grown(bath, 1/kept))
		require.NoError(t, j.Finish(t.Context(), result))
		runs = append(runs, run)
	}
	of := func() record.Efficiency {
		found, err := j.Efficiency(runs, fitted)
		require.NoError(t, err)
		return found
	}
	coupon(fault.Finding{Code: fault.AreaUnderstated, Severity: fault.Warning})
	coupon(fault.Finding{Code: fault.BathTemperatureOutside, Severity: fault.Warning})
	coupon(fault.Finding{Code: fault.LeakPlateau, Severity: fault.Warning})
	assert.False(t, of().Known(), "the leak is no charge of the film's")
	coupon()
	assert.True(t, of().Known())
	assert.Equal(t, []string{"1", "2", "4"}, of().Runs)
	assert.InEpsilon(t, kept, of().Median, 0.01)
	fitted.Efficiency = 0.5
	assert.InEpsilon(t, kept, of().Median, 0.01, "what was believed before is not asked")
	fitted.NMPerVolt /= off
	assert.Less(t, of().Median/kept, 0.95, "only as true as the nm per volt")
}
